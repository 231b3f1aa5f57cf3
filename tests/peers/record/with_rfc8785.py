"""Writes numbers and a document in canonical form by rfc8785, an implementation in Python alone.

with_rfc8785.py NUMBERS DOCUMENT: NUMBERS holds IEEE 754 doubles as 16 hex digits, one a line; each is printed in its
canonical form, one a line, then the canonical form of DOCUMENT.
"""
import json
import struct
import sys

import rfc8785

for line in open(sys.argv[1]):
    (number,) = struct.unpack(">d", bytes.fromhex(line.strip()))
    print(rfc8785.dumps(number).decode())
sys.stdout.flush()
sys.stdout.buffer.write(rfc8785.dumps(json.load(open(sys.argv[2], encoding="utf-8"))))
