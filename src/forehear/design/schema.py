"""JSON schemas of the files, for editors that complete and check while one types."""

from typing import Any

from forehear.design.brief_file import BriefFile
from forehear.design.candidate_file import CandidateFile
from forehear.parts import DriverFile


def design_schema() -> dict[str, Any]:
    """Return the JSON schema of a design file."""
    return CandidateFile.model_json_schema(by_alias=True)


def brief_schema() -> dict[str, Any]:
    """Return the JSON schema of a brief."""
    return BriefFile.model_json_schema(by_alias=True)


def driver_schema() -> dict[str, Any]:
    """Return the JSON schema of a driver file."""
    return DriverFile.model_json_schema(by_alias=True)
