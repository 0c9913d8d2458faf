"""Drawings of moving parts on pages: a version without a motor shows what moves, and every part as a sheet of paper."""

from __future__ import annotations

import io
from collections.abc import AsyncIterator

import pypdf
import pytest
from nicegui.testing import User

from halfroll.workshop import Workshop
from tests.app.conftest import visiting

VERSION = "godwit/v1"
MOVING = """
[surround]
family = "half-roll"
inner_mm = 66
outer_mm = 84
thickness_mm = 0.84
lip_inner_mm = 4
material = "tpu-95a"

[cone]
outer_mm = 66
inner_mm = 26
depth_mm = 20
thickness_mm = 0.84
material = "pla"
"""


@pytest.fixture
async def drawer(small: Workshop) -> AsyncIterator[User]:
    """A visitor of a workshop in which one version has moving parts and no motor."""
    path = small.version(VERSION).path
    path.write_text(path.read_text(encoding="utf-8") + MOVING, encoding="utf-8")
    async with visiting(small) as user:
        yield user


async def test_what_moves_is_drawn_without_a_motor(drawer: User) -> None:
    """On the version's page and in the overview, with the way to its suspension."""
    page_ = await drawer.http_client.get(f"/drivers/{VERSION}")
    assert page_.status_code == 200
    assert "section of cone and surround" in page_.text
    assert f"/suspension/{VERSION}" in page_.text
    assert "Design its motor" in page_.text
    assert "section of cone and surround" in (await drawer.http_client.get("/")).text


async def test_every_part_has_a_sheet(drawer: User) -> None:
    """A PDF of A4 pages with the names of driver and version; of a version without parts it is said what is missing."""
    answer = await drawer.http_client.get(f"/models/{VERSION}/drawings.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    words = [sheet.extract_text() for sheet in pypdf.PdfReader(io.BytesIO(answer.content)).pages]
    assert ["Surround of " in words[0], "Cone of " in words[1], len(words)] == [True, True, 2]
    none = await drawer.http_client.get("/models/godwit/v2/drawings.pdf")
    assert none.status_code == 422
    assert "no moving parts" in none.text
