"""What can be said of the libraries without asking anybody: `python -m tests.audit`.

Run it in an environment made as the README says; exit code 1 where something is wrong. Looked at: requirements that do
not fit each other, libraries without a pin or with another version than pinned, pins that nothing needs, licences. Not
looked at: known weaknesses, because no list of them comes with any library here. Where there is a connection,
`pip-audit -r constraints.txt` asks for them; docs/threats.md says how.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib.metadata import Distribution, distributions
from pathlib import Path

ROOT = Path(__file__).parent.parent
#: What makes an environment, and the project itself.
OURS = frozenset({"bartack", "pip", "setuptools", "wheel"})
#: Pinned for what the tests do not install: sign-in by a provider, and the reader of labels, which is put in by itself.
OPTIONAL = frozenset({"authlib", "joserfc", "rapidocr-onnxruntime"})
#: Licences that let the program be used, changed and passed on under its own (SPDX names, https://spdx.org/licenses).
ALLOWED = frozenset(
    {
        *("0BSD", "Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "CC0-1.0", "ISC", "MIT", "MIT-0", "MIT-CMU", "MPL-2.0"),
        *("PSF-2.0", "Python-2.0", "Unlicense", "Zlib"),
    }
)
#: How licences are called where no SPDX name is given.
CALLED = {
    "apache 2.0": "Apache-2.0",
    "apache license 2.0": "Apache-2.0",
    "apache software license": "Apache-2.0",
    "bsd": "BSD-3-Clause",
    "bsd license": "BSD-3-Clause",
    "bsd 3-clause license": "BSD-3-Clause",
    "3-clause bsd license": "BSD-3-Clause",
    "2-clause bsd": "BSD-2-Clause",
    "2-clause bsd license": "BSD-2-Clause",
    "mit license": "MIT",
    "mozilla public license 2.0 (mpl 2.0)": "MPL-2.0",
    "public domain": "CC0-1.0",
}
#: Licences that the metadata do not tell, read in the library's own licence file.
READ = {"axe-playwright-python": "MIT", "imagehash": "BSD-2-Clause", "pydeck": "Apache-2.0"}
#: LGPL: used as a library, unchanged and replaceable, which that licence allows.
LESSER = {
    "psycopg": "the driver of PostgreSQL",
    "psycopg-binary": "the same, with its C library",
    "psycopg-pool": "its pool of connections",
    "pi-heif": "itself BSD; its wheel holds decoders under the LGPL",
}


@dataclass(frozen=True, slots=True)
class Library:
    """One installed distribution, its name as registries compare it."""

    name: str
    version: str
    expression: str = ""
    license: str = ""
    classifiers: tuple[str, ...] = ()


def named(name: str) -> str:
    """A distribution's name as registries compare it (PyPA, names and normalization)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def of(found: Distribution) -> Library:
    told = found.metadata
    kinds = (one.split("::")[-1].strip() for one in told.get_all("Classifier", []) if one.startswith("License ::"))
    first = (told.get("License") or "").strip().split("\n")[0]
    expression = (told.get("License-Expression") or "").strip()
    return Library(named(told["Name"]), found.version, expression, first, tuple(kinds))


def pins(text: str) -> dict[str, str]:
    """Name → version of a constraints file. Raises ValueError for a line that pins nothing, or a name pinned twice."""
    found: dict[str, str] = {}
    for line in text.splitlines():
        line = line.split("#", 1)[0].strip()
        if not line:
            continue
        match = re.fullmatch(r"([A-Za-z0-9._-]+)==([A-Za-z0-9.+!]+)", line)
        if match is None:
            raise ValueError(f"“{line}” pins nothing")
        if named(match[1]) in found:
            raise ValueError(f"{match[1]} is pinned twice")
        found[named(match[1])] = match[2]
    return found


def pin_faults(libraries: Iterable[Library], pinned: Mapping[str, str]) -> list[str]:
    """What is installed and not pinned so, and what is pinned and not installed."""
    here = {one.name: one.version for one in libraries if one.name not in OURS}
    faults = [f"{name} {version} is not pinned" for name, version in here.items() if name not in pinned]
    faults += [
        f"{name} is pinned to {pinned[name]}, and {version} is installed"
        for name, version in here.items()
        if name in pinned and pinned[name] != version
    ]
    faults += [
        f"{name} is pinned, and nothing needs it" for name in pinned if name not in here and name not in OPTIONAL
    ]
    return sorted(faults)


def licence_fault(one: Library) -> str | None:
    """What is wrong with a library's licence, None where it may be used."""
    said = " ".join((one.expression, one.license, *one.classifiers))
    if re.search(r"GPL|GNU", said):
        lesser = re.search(r"LGPL|Lesser", said) and not re.search(r"(?<!L)GPL-|AGPL|Affero", said)
        return None if lesser and one.name in LESSER else f"{one.name}: {said.strip()}"
    if one.expression:
        words = [word for word in re.split(r"\s+(?:AND|OR|WITH)\s+|[()]", one.expression) if word]
        return None if words and set(words) <= ALLOWED else f"{one.name}: {one.expression}"
    if one.name in READ:
        return None
    told = [*one.classifiers, one.license]
    known = {CALLED.get(text.lower(), text) for text in told if text} & ALLOWED
    whole = {word for text in told for word in re.split(r"\s+AND\s+", text)} & ALLOWED
    return None if known or whole else f"{one.name}: {said.strip() or 'no licence told'}"


def direct(project: str) -> set[str]:
    """What the project itself asks for, with every extra."""
    told = tomllib.loads(project)["project"]
    asked = [*told["dependencies"], *(one for extra in told["optional-dependencies"].values() for one in extra)]
    return {named(re.split(r"[\[<>=!~; ]", one, maxsplit=1)[0]) for one in asked} - OURS


def main() -> int:
    """Prints what was looked at and what is wrong."""
    libraries = [of(found) for found in distributions()]
    pinned = pins((ROOT / "constraints.txt").read_text(encoding="utf-8"))
    faults = pin_faults(libraries, pinned)
    faults += [fault for one in libraries if one.name not in OURS and (fault := licence_fault(one))]
    faults += [
        f"{name} is asked for and not pinned" for name in direct((ROOT / "pyproject.toml").read_text()) - set(pinned)
    ]
    fits = subprocess.run([sys.executable, "-m", "pip", "check"], capture_output=True, text=True, check=False)
    faults += fits.stdout.splitlines() if fits.returncode else []
    lesser = [one.name for one in libraries if one.name in LESSER]
    print(
        f"Python {sys.version.split()[0]}, {len(libraries)} libraries, {len(pinned)} pins; LGPL: {', '.join(lesser)}."
    )
    print("Known weaknesses were not looked for: that takes a connection (docs/threats.md, Libraries).")
    for fault in faults:
        print(f"  {fault}")
    print("Nothing wrong found." if not faults else f"{len(faults)} faults.")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
