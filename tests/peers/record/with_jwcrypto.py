"""Verifies every signature of a record with jwcrypto: with_jwcrypto.py RECORD ROSTER."""
import json
import sys

from jwcrypto import jwk, jws
from jwcrypto.common import base64url_decode

record = open(sys.argv[1]).read()
roster = json.load(open(sys.argv[2]))
signatures = json.loads(record)["signatures"]
for index, signature in enumerate(signatures):
    token = jws.JWS()
    token.allowed_algs = ["Ed25519", "EdDSA"]
    # The flattened form of one signature, so that each is verified by its own key.
    token.deserialize(json.dumps({
        "payload": json.loads(record)["payload"],
        "protected": signature["protected"],
        "signature": signature["signature"],
    }))
    kid = token.jose_header["kid"]
    entry = next(key for key in roster["keys"] if key["kid"] == kid)
    key = jwk.JWK(kty=entry["kty"], crv=entry["crv"], x=entry["x"])
    assert key.thumbprint() == kid, "the thumbprint differs"
    token.verify(key)
    print("valid", index, token.jose_header["alg"], token.jose_header["role"])

# The whole General form: jwcrypto accepts it if one signature holds under the key given.
signed_by = [base64url_decode(signature["protected"]) for signature in signatures]
signed_by = [json.loads(header)["kid"] for header in signed_by]
for entry in roster["keys"]:
    if entry["kid"] not in signed_by:
        continue
    token = jws.JWS()
    token.allowed_algs = ["Ed25519", "EdDSA"]
    token.deserialize(record)
    token.verify(jwk.JWK(kty=entry["kty"], crv=entry["crv"], x=entry["x"]))
    print("general", entry["kid"])
