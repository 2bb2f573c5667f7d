"""Holds JSON documents against a JSON Schema (draft 2020-12) with python3-jsonschema.

The schema is the first argument, each other one a document. A line out is "ok", or what is wrong with
it first.
"""
import json
import sys

import jsonschema

with open(sys.argv[1], encoding="utf-8") as file:
    schema = json.load(file)
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
for name in sys.argv[2:]:
    with open(name, encoding="utf-8") as file:
        first = next(validator.iter_errors(json.load(file)), None)
    print("ok" if first is None else f"/{'/'.join(map(str, first.path))}: {first.message}"[:300].replace("\n", " "))
