"""Reads each signature with its disclosures, in the ~ form, by the SD-JWT reference implementation.

with_sd_jwt.py RECORD ROSTER prints the payload with claims put back, once per signature, as one line of JSON.
"""
import json
import sys

from jwcrypto import jwk
from jwcrypto.jws import default_allowed_algs
from sd_jwt.verifier import SDJWTVerifier

if "Ed25519" not in default_allowed_algs:
    default_allowed_algs.append("Ed25519")

record = json.load(open(sys.argv[1]))
roster = json.load(open(sys.argv[2]))
disclosures = record["signatures"][0]["header"]["disclosures"]


def key_of(issuer, header):
    entry = next(key for key in roster["keys"] if key["kid"] == header["kid"])
    return jwk.JWK(kty=entry["kty"], crv=entry["crv"], x=entry["x"])


for signature in record["signatures"]:
    compact = ".".join([signature["protected"], record["payload"], signature["signature"]])
    presented = "~".join([compact, *disclosures]) + "~"
    verifier = SDJWTVerifier(presented, key_of)
    print(json.dumps(verifier.get_verified_payload(), sort_keys=True))
