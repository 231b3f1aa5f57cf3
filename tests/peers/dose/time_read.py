"""Reads one dose report with pydicom and walks all of it; prints the seconds that took, without starting Python.

Usage: time_read.py FILE
"""

import sys
import time
from pathlib import Path

from walk import read

begun = time.perf_counter()
report = read(Path(sys.argv[1]))
print(time.perf_counter() - begun, len(report["events"]))
