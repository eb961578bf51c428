"""Who may import whom, as DEVELOPERS.md states it: anything not listed is forbidden."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CORE = ROOT / "inspect_core"
DOMAIN = {"inspect_core.domain"}
#: The protocols, in a few files because one would be too long; they may name each other.
PORTS = {f"inspect_core.{path.stem}" for path in CORE.glob("ports*.py")}
MIDDLE = {
    "inspect_core.domain",
    "inspect_core.rules",
    "inspect_core.imaging",
    "inspect_core.rigging",
    "inspect_core.trends",
    "inspect_core.ledger",
    "inspect_core.deciding",
    "inspect_core.reports",
    "inspect_core.languages",
    *PORTS,
}
#: Package → what it may import of ours, besides itself.
MAY_IMPORT = {
    "inspect_core.domain": set(),
    "inspect_core.languages": set(),
    "inspect_core.rules": DOMAIN,
    "inspect_core.imaging": DOMAIN,
    "inspect_core.rigging": DOMAIN,
    "inspect_core.trends": DOMAIN,
    "inspect_core.ledger": DOMAIN,
    "inspect_core.deciding": DOMAIN | {"inspect_core.rules.model", "inspect_core.rules.intervals"},
    **dict.fromkeys(PORTS, DOMAIN | PORTS),
    "inspect_core.watch": DOMAIN | PORTS,
    "inspect_core.reports": DOMAIN | {"inspect_core.languages", "inspect_core.trends", "inspect_core.imaging.draw"},
    "inspect_core.usecases": MIDDLE,
    "storage": DOMAIN | PORTS,
    "inspect_core.bootstrap": DOMAIN
    | PORTS
    | {"inspect_core.usecases", "inspect_core.rules", "inspect_core.watch", "storage", "sample_images"},
    "inspect_core.screens": {
        "inspect_core.usecases",
        "inspect_core.domain",
        "inspect_core.languages",
        "inspect_core.reports",
        "inspect_core.imaging",
        "inspect_core.rigging",
        "inspect_core.trends",
    },
    "inspect_core.terminal": DOMAIN | {"inspect_core.bootstrap", "inspect_core.languages", "inspect_core.usecases"},
    "streamlit_app": {"inspect_core.bootstrap", "inspect_core.usecases", "inspect_core.screens"},
    "sample_images": DOMAIN,
}
#: Every program but the named package keeps its hands off these libraries.
ONLY = {"streamlit": ("inspect_core.screens", "streamlit_app"), "sqlalchemy": ("storage",), "alembic": ("storage",)}
OURS = ("inspect_core", "storage", "sample_images", "streamlit_app", "tests")


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def package_of(module: str) -> str | None:
    return next((name for name in sorted(MAY_IMPORT, key=len, reverse=True) if inside(module, name)), None)


def inside(module: str, package: str) -> bool:
    return module == package or module.startswith(package + ".")


def imports_of(source: str, module: str, is_package: bool) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = module.split(".")
                kept = parents[: len(parents) - node.level + (1 if is_package else 0)]
                base = ".".join([*kept, *([node.module] if node.module else [])])
            found |= {f"{base}.{alias.name}" for alias in node.names}
    return found


def program_files() -> list[Path]:
    files = [ROOT / "streamlit_app.py"]
    for folder in ("inspect_core", "storage", "sample_images"):
        files += sorted((ROOT / folder).rglob("*.py"))
    return [file for file in files if file.exists()]


def faults_in(module: str, imports: set[str]) -> list[str]:
    package = package_of(module)
    if package is None:
        return [] if module == "inspect_core" else [f"{module} belongs to no package of the design"]
    faults = []
    for name in sorted(imports):
        if name.split(".")[0] in OURS and not inside(name, package):
            allowed = MAY_IMPORT[package]
            if not any(inside(name, other) for other in allowed):
                faults.append(f"{module} imports {name}")
        owners = ONLY.get(name.split(".")[0])
        if owners and not any(inside(module, owner) for owner in owners):
            faults.append(f"{module} imports {name}")
    return faults


@pytest.mark.parametrize("path", program_files(), ids=lambda p: str(p.relative_to(ROOT)))
def test_a_file_imports_only_what_its_package_may(path):
    module = module_of(path)
    imports = imports_of(path.read_text(encoding="utf-8"), module, path.name == "__init__.py")
    assert faults_in(module, imports) == []


@pytest.mark.parametrize(
    ("module", "line"),
    [
        ("inspect_core.domain.gear", "from inspect_core.rules.model import Rule"),
        ("inspect_core.screens.today", "import storage.engine"),
        ("inspect_core.screens.today", "from inspect_core import bootstrap"),
        ("inspect_core.usecases.inspect", "import streamlit as st"),
        ("inspect_core.reports.certificate", "from inspect_core.imaging.files import take_in"),
        ("storage.engine", "from inspect_core.usecases import inspect"),
        ("inspect_core.deciding", "from inspect_core.rules.loader import load_rules"),
    ],
)
def test_a_forbidden_import_is_found(module, line):
    assert faults_in(module, imports_of(line, module, False)) != []


def test_the_domain_needs_the_standard_library_only():
    import sys

    for path in (CORE / "domain").rglob("*.py"):
        for name in imports_of(path.read_text(encoding="utf-8"), module_of(path), path.name == "__init__.py"):
            top = name.split(".")[0]
            assert top in sys.stdlib_module_names or top == "inspect_core" or top == "__future__", f"{path}: {name}"


def test_no_file_passes_four_hundred_lines():
    long = {
        str(path.relative_to(ROOT)): lines
        for path in program_files()
        if (lines := path.read_text(encoding="utf-8").count("\n")) > 400
    }
    assert long == {}


def test_the_top_level_holds_only_what_the_design_names():
    named = {
        *("README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml", "constraints.txt"),
        *("streamlit_app.py", "inspect_core", "storage", "tests", "sample_images", "docs"),
    }
    found = {
        path.name
        for path in ROOT.iterdir()
        if not path.name.startswith(".")
        and not path.name.endswith(".egg-info")
        and path.name not in ("build", "dist")
        and not (path.is_dir() and (path / "pyvenv.cfg").exists())
    }
    assert found <= named
