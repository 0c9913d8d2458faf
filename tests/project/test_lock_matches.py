"""What pyproject.toml asks for is what the locks install."""

import re
import sys
import tomllib
from importlib.metadata import packages_distributions

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.project.tree import ROOT, imports, modules, name_of

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
EXTRAS = PROJECT["optional-dependencies"]
READ_NOT_IMPORTED = {"font-source-sans-pro"}


def pinned(lock: str) -> set[tuple[str, str]]:
    """Read name and version of every library a lock lists; some have one version for each kind of machine."""
    text = (ROOT / lock).read_text(encoding="utf-8")
    return set(re.findall(r"^([a-z0-9-]+)==(\S+)", text, re.MULTILINE))


@pytest.mark.parametrize(
    ("lock", "asked"),
    [
        ("requirements.lock", PROJECT["dependencies"] + EXTRAS["install"] + EXTRAS["capture"]),
        ("requirements-dev.lock", PROJECT["dependencies"] + EXTRAS["install"] + EXTRAS["dev"]),
    ],
)
def test_lock_holds_every_library_asked_for(lock, asked):
    """Each named library is locked at a version that its bounds allow."""
    locked = pinned(lock)
    for requirement in map(Requirement, asked):
        if requirement.name == "halfroll":
            continue
        versions = [version for name, version in locked if name == canonicalize_name(requirement.name)]
        assert any(map(requirement.specifier.contains, versions)), f"{requirement}: {versions}"


def test_lock_for_tests_holds_the_lock_for_people():
    """Tests run on the very versions that people get."""
    assert pinned("requirements.lock") <= pinned("requirements-dev.lock")


def test_every_library_used_is_asked_for():
    """The package imports nothing that only happens to be installed, and asks for nothing it does not import."""
    wanted = PROJECT["dependencies"] + EXTRAS["capture"]
    asked = {canonicalize_name(Requirement(line).name) for line in wanted}
    sources = packages_distributions()
    used = {
        target.split(".")[0]
        for path in modules()
        for _, target in imports(
            path.read_text(encoding="utf-8"), name_of(path), is_package=path.name == "__init__.py"
        )
    } - {"halfroll", *sys.stdlib_module_names}
    # Python 3.11 lists no library that is a single compiled file; such a one is called like its module.
    providers = {canonicalize_name(source) for name in used for source in sources.get(name, [name])}
    assert providers | READ_NOT_IMPORTED == asked
