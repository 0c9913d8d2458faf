"""What the project's own tests read: the source tree and its syntax."""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "halfroll"
NOT_OURS = {".git", ".venv", ".halfroll", ".hypothesis", "__pycache__", "saltmarsh-workshop", "build", "dist"}


def modules() -> list[Path]:
    """List every module of the package."""
    return sorted(PACKAGE.rglob("*.py"))


def project_files() -> Iterator[tuple[str, str]]:
    """Give (path, text) of every text file of the project that is not derived or installed."""
    for path in sorted(ROOT.rglob("*")):
        parts = path.relative_to(ROOT).parts
        if NOT_OURS.intersection(parts) or any(part.endswith(("_cache", ".egg-info")) for part in parts):
            continue
        if path.is_file():
            try:
                yield path.relative_to(ROOT).as_posix(), path.read_text(encoding="utf-8")
            except UnicodeDecodeError:
                continue


def name_of(path: Path, package: Path = PACKAGE) -> str:
    """Give the dotted name of a module, ``halfroll.core.errors``."""
    parts = path.relative_to(package.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(source: str, module: str, *, is_package: bool = False) -> Iterator[tuple[int, str]]:
    """Give (line, dotted name) of everything a module imports, wherever in it; names imported from a package are
    joined to it, so that ``from halfroll import core`` gives ``halfroll.core``.
    """
    here = module.split(".") if is_package else module.split(".")[:-1]
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = here[: len(here) - node.level + 1] if node.level else []
            origin = ".".join([*above, *([node.module] if node.module else [])])
            yield from ((node.lineno, f"{origin}.{alias.name}") for alias in node.names)
