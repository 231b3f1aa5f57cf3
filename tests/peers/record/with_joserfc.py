"""Verifies the General form of a record with joserfc: with_joserfc.py RECORD ROSTER."""
import json
import sys

from joserfc import jws
from joserfc.jwk import KeySet, OKPKey
from joserfc.registry import HeaderParameter

record = json.load(open(sys.argv[1]))
roster = json.load(open(sys.argv[2]))
keys = KeySet([
    OKPKey.import_key({"kty": key["kty"], "crv": key["crv"], "x": key["x"], "kid": key["kid"]})
    for key in roster["keys"]
])
registry = jws.JWSRegistry(
    header_registry={
        "role": HeaderParameter("Role of the signer", "str", True),
        "meaning": HeaderParameter("Meaning of the signature", "str", True),
        "signed_ms": HeaderParameter("Milliseconds since opening", "int", True),
        "replaces": HeaderParameter("The key that was asked for", "str", False),
        "disclosures": HeaderParameter("Disclosures", "list[str]", False),
    },
    algorithms=["Ed25519", "EdDSA"],
)
obj = jws.deserialize_json(record, keys, registry=registry)
for member in obj.members:
    print("valid", member.headers()["alg"], member.headers()["role"])
assert len(obj.members) == len(record["signatures"])
