"""Validates JSON documents against a JSON Schema with the package jsonschema.

Usage: validate.py SCHEMA DOCUMENT...   Exit: 0 all valid, 1 not, 3 the package is missing.
"""

import json
import sys

try:
    from jsonschema import Draft202012Validator
except ImportError as fault:
    print(fault)
    sys.exit(3)


def load(path):
    with open(path, encoding="utf-8") as file:
        return json.load(file)


def main(schema_path, documents):
    schema = load(schema_path)
    Draft202012Validator.check_schema(schema)
    validator = Draft202012Validator(schema)
    valid = True
    for path in documents:
        for error in validator.iter_errors(load(path)):
            valid = False
            print(f"{path}: {error.json_path}: {error.message[:200]}")
    return 0 if valid else 1


sys.exit(main(sys.argv[1], sys.argv[2:]))
