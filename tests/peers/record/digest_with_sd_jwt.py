"""Prints the digest of a disclosure by the SD-JWT reference implementation: digest_with_sd_jwt.py DISCLOSURE."""
import sys

from sd_jwt.common import SDJWTCommon

print(SDJWTCommon("compact")._b64hash(sys.argv[1].encode("ascii")))
