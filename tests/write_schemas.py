"""Write `data/schemas` anew from the models: `python tests/write_schemas.py`.

A form that loses a key, or gives one another meaning, gets the next version, and the old file stays.
"""

import json

from answer_schema import answer_schema
from bundle_schema import bundle_schema
from record_schema import record_schema

from siteassess.reference.locate import data_folder

MADE = {"record": record_schema, "answer": answer_schema, "bundle": bundle_schema}


def as_text(made: dict) -> str:
    return json.dumps(made, ensure_ascii=False, indent=1, sort_keys=True) + "\n"


if __name__ == "__main__":
    for name, make in MADE.items():
        made = make()
        version = made["$id"].rpartition(":")[2]
        (data_folder() / "schemas").mkdir(exist_ok=True)
        (data_folder() / "schemas" / f"{name}-{version}.json").write_text(as_text(made), encoding="utf-8")
