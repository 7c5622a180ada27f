"""The shipped JSON Schemas are those of the models."""

import json

import pytest

from crewdesk.assets import shipped
from crewdesk.documents.schemas import KINDS, schema_of


@pytest.mark.parametrize("kind", KINDS)
def test_shipped_schema_is_the_present_one(kind: str) -> None:
    file = shipped("resources") / "schemas" / f"{kind}.json"
    assert json.loads(file.read_text(encoding="utf-8")) == schema_of(kind)


@pytest.mark.parametrize("kind", KINDS)
def test_schema_names_its_dialect(kind: str) -> None:
    assert schema_of(kind)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_unknown_kind() -> None:
    with pytest.raises(KeyError):
        schema_of("moon")


def test_units_ride_on_the_schema() -> None:
    event = schema_of("event")
    text = json.dumps(event, ensure_ascii=False)
    assert '"unit": "kPa, gauge"' in text
    assert event["$defs"]["Leg"]["additionalProperties"] is False
