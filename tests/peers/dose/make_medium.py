"""Puts report files on a medium: a folder with a DICOMDIR, written by pydicom.

Usage: make_medium.py FOLDER REPORT...
"""

import sys

from pydicom.fileset import FileSet

medium = FileSet()
for path in sys.argv[2:]:
    medium.add(path)
medium.write(sys.argv[1])
