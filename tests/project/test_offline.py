"""Nothing is loaded from outside, and no file names a registry, another machine's folders or a lock's address."""

import re

from tests.project.tree import project_files

# Written in pieces so that this file does not hold what it looks for.
HOSTS = [
    ".".join(parts)
    for parts in (
        ("pypi", "org"),
        ("pythonhosted", "org"),
        ("npmjs", "org"),
        ("npmjs", "com"),
        ("jsdelivr", "net"),
        ("googleapis", "com"),
        ("gstatic", "com"),
        ("cloudflare", "com"),
        ("deb", "debian", "org"),
    )
] + ["unp" + "kg", "cdn" + "js"]
DELIVERY_NETWORK = re.compile(r"\bc" + r"dn\d*\.[a-z]", re.IGNORECASE)
ADDRESS = re.compile(r"https?://([^/\s\"'`<>)\\]+)", re.IGNORECASE)
OWN_MACHINE = re.compile(r"(127\.0\.0\.1|localhost|\[::1\]|\{[^}]*\})(:.*)?")
NAMES_NOT_LOADED = {
    "www.w3.org",
    "vega.github.io",
    "schemas.microsoft.com",  # 3MF
    "schemas.openxmlformats.org",  # Open Packaging, which 3MF is built on
}  # name a kind of document (namespace, "$schema"); nothing fetches them
FOLDERS_OF_A_MACHINE = ["/" + "work/", "/" + "root/", "/" + "home/"]


def test_offline_no_registry_or_delivery_network_is_named():
    """Whoever installs chooses where from; the pages carry everything they show."""
    found = [
        f"{path}: {host}"
        for path, text in project_files()
        for host in [*(host for host in HOSTS if host in text.lower()), *DELIVERY_NETWORK.findall(text)]
    ]
    assert found == []


def test_offline_the_package_names_no_outside_address():
    """No module, style sheet, script or template of the package holds an address outside this machine."""
    found = [
        f"{path}: {host}"
        for path, text in project_files()
        if path.startswith("src/")
        for host in ADDRESS.findall(text)
        if not OWN_MACHINE.fullmatch(host) and host not in NAMES_NOT_LOADED
    ]
    assert found == []


def test_offline_locks_hold_hashes_and_no_address():
    """Every locked library is pinned to one version with hashes, without an index or an address."""
    locks = {path: text for path, text in project_files() if re.fullmatch(r"requirements.*\.lock", path)}
    assert set(locks) == {"requirements.lock", "requirements-dev.lock"}
    for path, text in locks.items():
        entries = re.split(r"\n(?=\S)", text.strip())
        assert len(entries) > 50
        for entry in entries:
            assert re.match(r"[a-z0-9-]+==[^\s;]+ ", entry), f"{path}: {entry[:60]}"
            assert "--hash=sha256:" in entry, f"{path}: {entry[:60]}"
        assert "://" not in text
        assert "index" not in text.replace("--hash", "")


def test_offline_no_folder_of_one_machine_is_named():
    """The project speaks of itself, never of a place where somebody wrote it."""
    found = [
        f"{path}: {name}" for path, text in project_files() for name in FOLDERS_OF_A_MACHINE if name in text
    ]
    assert found == []
