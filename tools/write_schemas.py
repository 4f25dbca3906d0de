"""Write the JSON schemas of all files, for editors that complete and check while one types."""

import json
from pathlib import Path

from forehear.design import brief_schema, design_schema, driver_schema

FOLDER = Path(__file__).parent.parent / "docs" / "schema"


def schemas() -> dict[str, str]:
    """Return the text of each schema under its file name."""
    made = {"brief.json": brief_schema(), "design.json": design_schema(), "driver.json": driver_schema()}
    return {name: json.dumps(schema, indent=1) + "\n" for name, schema in made.items()}


def main() -> None:
    """Write them all."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in schemas().items():
        (FOLDER / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
