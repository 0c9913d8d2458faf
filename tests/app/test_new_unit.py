"""From an empty workshop to a unit that can be measured, without a recording."""

from __future__ import annotations

from nicegui.testing import User

from halfroll.app.field import Control
from halfroll.workshop import Workshop
from tests.app.conftest import PATIENT, until, visiting


def enter(user: User, marker: str, value: str) -> None:
    """Type into a field."""
    (control,) = user.find(marker=marker, kind=Control).elements
    control.set(value)
    user.find(marker=marker, kind=Control).trigger("entered", value)


async def test_the_way_there_from_nothing(empty: Workshop) -> None:
    """The first page and the bench lead to it."""
    async with visiting(empty) as user:
        for page_address in ("/", "/bench"):
            response = await user.http_client.get(page_address)
            assert "/unit/new" in response.text, page_address


async def test_a_driver_a_version_and_a_unit_are_made_at_once(empty: Workshop) -> None:
    """What is wrong stands under its field and nothing is made; then all three are, and the unit's page opens."""
    async with visiting(empty) as user:
        await user.open("/unit/new")
        user.find(marker="make-unit").click()
        await user.should_see("The new driver needs a name.", retries=PATIENT)
        enter(user, "driver_title", "Ruff")
        enter(user, "version_name", "v1")
        enter(user, "version_effective_area_cm2", "0,0095")
        enter(user, "unit_name", "01")
        enter(user, "unit_moving_mass_g", "0.0067")
        user.find(marker="make-unit").click()
        await user.should_see("if 0.0095 is in square metres, write 95", retries=PATIENT)
        await user.should_see("if 0.0067 is in kilograms, write 6.7")
        assert empty.driver_ids() == []
        enter(user, "version_effective_area_cm2", "95")
        enter(user, "unit_moving_mass_g", "6.7")
        user.find(marker="make-unit").click()
        await until(lambda: empty.driver_ids() and empty.unit_ids("ruff/v1") == ["ruff/v1/01"])
        assert empty.version("ruff/v1").record.effective_area_cm2 == 95.0
        assert empty.unit("ruff/v1/01").record.moving_mass_g == 6.7


async def test_one_more_unit_of_a_version(small: Workshop) -> None:
    """The version the address names is chosen, and only the unit is asked for."""
    async with visiting(small) as user:
        version = small.version_ids()[0]
        await user.open(f"/unit/new?version={version}")
        before = small.unit_ids(version)
        enter(user, "unit_name", "spare")
        user.find(marker="make-unit").click()
        await until(lambda: len(small.unit_ids(version)) == len(before) + 1)
        assert f"{version}/spare" in small.unit_ids(version)
