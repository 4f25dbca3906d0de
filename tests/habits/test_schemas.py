"""The schemas that editors use are those of the readers."""

import json

import pytest

from forehear.design import brief_schema, design_schema, driver_schema
from habits.house import TOP

SCHEMAS = {"brief.json": brief_schema, "design.json": design_schema, "driver.json": driver_schema}


@pytest.mark.parametrize("name", SCHEMAS)
def test_published_schema_is_that_of_the_reader(name: str) -> None:
    published = json.loads((TOP / "docs" / "schema" / name).read_text(encoding="utf-8"))
    assert published == json.loads(json.dumps(SCHEMAS[name]())), "run tools/write_schemas.py"
