"""Rule files in, one rule set out; or every fault in them at once."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import TypeVar

import rfc8785

from inspect_core.domain.errors import BadRules
from inspect_core.domain.toml_text import read_toml
from inspect_core.rules.checking import rule_faults, set_faults
from inspect_core.rules.model import FactSpec, Profile, Rule, RuleSet, Source
from inspect_core.rules.reading import read_fact, read_profile, read_rule, read_source
from inspect_core.rules.table import Table

_T = TypeVar("_T", Source, FactSpec, Profile)
_MOST_BYTES = 300_000  # the largest of ours has 14 kB


def load_rules(folder: Path | None = None) -> RuleSet:
    """The rules of a folder of TOML files, by default those that come with the program.

    Raises BadRules with every fault of every file, each as "file: key: what is wrong".
    """
    if folder is None:
        return _packaged()
    if not folder.is_dir():
        raise BadRules((f"{folder.name}: folder: is missing",))
    return _load(folder)


@lru_cache(maxsize=1)
def _packaged() -> RuleSet:
    return _load(files("inspect_core.rules") / "data")


def _load(folder: Traversable) -> RuleSet:
    faults: list[str] = []
    tables = [t for t in (_read_file(entry, faults) for entry in _toml_files(folder)) if t is not None]
    if not tables and not faults:
        raise BadRules(("rules: folder: holds no .toml file",))
    version = _version(tables, faults)
    sources = _named("key", [(t, read_source(t)) for part in tables for t in part.tables("source")])
    facts = _named("name", [(t, read_fact(t)) for part in tables for t in part.tables("fact")])
    profiles = _named("name", [(t, read_profile(t, sources)) for part in tables for t in part.tables("profile")])
    rules: list[tuple[str, Rule]] = []
    for part in tables:
        for table in part.tables("rule"):
            rule = read_rule(table, sources, facts, profiles)
            for key, what in rule_faults(rule, facts):
                table.fault(key, what)
            rules.append((table.file, rule))
        part.done()
    faults.extend(set_faults(rules, profiles))
    if faults:
        raise BadRules(tuple(faults))
    return make_rule_set(
        version,
        tuple(rule for _, rule in rules),
        tuple(profiles.values()),
        tuple(facts.values()),
        tuple(sources.values()),
    )


def make_rule_set(
    version: str,
    rules: tuple[Rule, ...],
    profiles: tuple[Profile, ...],
    facts: tuple[FactSpec, ...],
    sources: tuple[Source, ...],
) -> RuleSet:
    """A rule set with its digest. The parts are taken as checked; files go through `load_rules`."""
    content = {"version": version, "rules": rules, "profiles": profiles, "facts": facts, "sources": sources}
    digest = hashlib.sha256(rfc8785.dumps(plain(content))).hexdigest()
    return RuleSet(version, digest, rules, profiles, facts, sources)


def plain(value: object) -> object:
    """Rules as plain JSON data: a source by its key, days in ISO 8601."""
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, tuple | list):
        return [plain(entry) for entry in value]
    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value) and not isinstance(value, type):
        data = {f.name: getattr(value, f.name) for f in fields(value)}
        if isinstance(data.get("source"), Source):
            data["source"] = data["source"].key
        return plain(data)
    return str(value) if isinstance(value, str) else value


def _toml_files(folder: Traversable) -> list[Traversable]:
    return sorted((e for e in folder.iterdir() if e.name.endswith(".toml")), key=lambda entry: entry.name)


def _read_file(file: Traversable, faults: list[str]) -> Table | None:
    data = file.read_bytes()
    if len(data) > _MOST_BYTES:
        faults.append(f"{file.name}: file: is larger than {_MOST_BYTES} bytes")
        return None
    try:
        return Table(file.name, "", read_toml(data.decode("utf-8")), faults)
    except UnicodeDecodeError:
        faults.append(f"{file.name}: file: is not UTF-8 text")
    except ValueError as error:
        faults.append(f"{file.name}: file: is no valid TOML; {error}")
    return None


def _version(tables: list[Table], faults: list[str]) -> str:
    stating = [table for table in tables if table.has("version")]
    if len(stating) != 1:
        faults.append(f"rules: version: must stand in exactly one file and stands in {len(stating)}")
        for table in stating:
            table.text("version")
        return ""
    return stating[0].text("version", needed=True)


def _named(attribute: str, found: list[tuple[Table, _T]]) -> dict[str, _T]:
    named: dict[str, _T] = {}
    for table, value in found:
        name = str(getattr(value, attribute))
        if name in named:
            table.fault(attribute, "duplicate; stands twice")
        named.setdefault(name, value)
    return named
