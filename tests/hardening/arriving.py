"""Spoilt inputs of whole files and of sign-in: registers, archives, settings, certificates, claims, searches."""

from __future__ import annotations

import functools
import hashlib
import io
import json
import random
import shutil
import tarfile
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from inspect_core import bootstrap
from inspect_core.domain.errors import BartackError
from inspect_core.domain.toml_text import read_toml
from inspect_core.terminal.common import read_json
from inspect_core.usecases import sign_in as signing_in
from inspect_core.usecases.archive import archive
from inspect_core.usecases.bag_reader import reading_bag
from inspect_core.usecases.certificate import certificate_pdf
from inspect_core.usecases.import_columns import guess_columns
from inspect_core.usecases.import_register import bad_rows_csv, import_rows, preview
from inspect_core.usecases.import_table import read_table
from inspect_core.usecases.import_values import DayOrder
from inspect_core.usecases.mail import mail_settings
from inspect_core.usecases.openid import over, rules_from, sign_in_by_claims
from inspect_core.usecases.proof import check_certificate
from inspect_core.usecases.restore import restore
from inspect_core.usecases.search import query_of, search
from inspect_core.usecases.services import Services
from storage.engine import FILE_NAME
from tests.hardening.mutate import ODD, spoiled_bytes, spoiled_data, spoiled_text
from tests.hardening.watching import attack
from tests.usecases.locked import CHEAP, LockedSite
from tests.usecases.site import Site

REGISTER = (
    "Tag,Type,Site,Manufacturer,Serial No.,Date of manufacture,First used on,Webbing width (mm),Standards,Price,Note\n"
    'H-1,harness,North Quay,Maker A,77,2024-03-01,2024-05-06,45,"CSA Z259.10; CE","1,200.50",new\n'
    "WL-2,webbing lanyard,North Quay,Maker A,78,2025-01-02,,45 mm,,,\n"
    'RG-3,rope grab,South Yard,Maker B,79,01/02/2025,,,,90,"two\nlines"\n'
    "C-4,connector,South Yard,Maker B,'=80,2025-06-30,2025-07-01,,EN 362,,\n"
)
SETTINGS = """\
# What goes out by mail.
[mail]
host = "mail.site.example"
port = 587
security = "starttls"
sender = "Gear <gear@site.example>"
to = ["chief@site.example"]

[mail.sites]
"North Quay" = ["quay@site.example", 'Other <other@site.example>']
"""
CASE_TEXT = json.dumps(
    {"kind": "webbing lanyard", "on": "2026-05-04", "facts": {"webbing width": 45.0}, "marks": [{"id": "m1"}]}, indent=1
)
CLAIMS = {
    "iss": "https://sign-in.site.example",
    "sub": "4711",
    "name": "Jo Roof",
    "email": "jo@site.example",
    "email_verified": True,
    "groups": ["gear-inspectors", "roof-crew"],
    "exp": 1_900_000_000,
}
ROLES = {
    "role_claim": "groups",
    "roles": {"roof-crew": "worker", "gear-inspectors": "competent person"},
    "people": {"chief@site.example": "administrator"},
}
QUERY = {
    "text": "cut near the hook",
    "kinds": ["harness"],
    "sites": ["North Quay"],
    "states": ["on hold"],
    "since": "2026-01-01",
    "until": "2026-12-31",
    "damage_from": 0.1,
    "damage_to": 2,
    "people": ["person-worker"],
}
#: Syntax of the languages that a database searches in.
SYNTAX = (
    '"',
    "'",
    "*",
    "-",
    "NEAR(",
    "AND",
    "OR",
    "NOT",
    "^",
    "{own about}:",
    "&",
    "|",
    "!",
    "<->",
    ":*",
    "%",
    "_",
    ";--",
)


def _workbook() -> tuple[bytes, dict[str, bytes]]:
    book, out = Workbook(), io.BytesIO()
    for line in REGISTER.splitlines():
        book.active.append(line.split(","))
    book.save(out)
    with zipfile.ZipFile(out) as packed:
        return out.getvalue(), {name: packed.read(name) for name in packed.namelist()}


#: Made once and before any watch begins: the library writes a workbook by way of a temporary file.
WHOLE, PARTS = _workbook()


def zipped(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in files.items():
            packed.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def _importing(site: Site) -> Any:
    orders = list(DayOrder)

    def use(given: tuple[bytes, str]) -> None:
        data, name = given
        table = read_table(data, name)
        order = orders[len(data) % 3]
        looked = preview(table, guess_columns(table.header), site.services, order=order, numbers_needed=False)
        bad_rows_csv(looked)
        import_rows(looked, site.manager, site.services, skip_bad=True)

    return use


def csv(many: int, place: Path) -> dict[str, Any]:
    encodings = ("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252")

    def spoil(rng: random.Random) -> tuple[bytes, str]:
        text = REGISTER if rng.random() < 0.7 else REGISTER.replace(",", ";")
        raw = text.encode(rng.choice(encodings))
        return (spoiled_text(rng, text) if rng.random() < 0.7 else spoiled_bytes(rng, raw)), "register.csv"

    return attack("csv", many, spoil, _importing(Site(place / "store")))


def xlsx(many: int, place: Path) -> dict[str, Any]:
    def spoil(rng: random.Random) -> tuple[bytes, str]:
        if rng.random() < 0.3:
            return spoiled_bytes(rng, WHOLE), "register.xlsx"
        hurt = rng.choice([*PARTS, *["xl/worksheets/sheet1.xml"] * 5])
        data = PARTS[hurt]
        worse = spoiled_bytes(rng, data) if rng.random() < 0.4 else spoiled_text(rng, data.decode().replace(">", ">\n"))
        return zipped(PARTS | {hurt: worse}), "register.xlsx"

    return attack("xlsx", many, spoil, _importing(Site(place / "store")))


def signed_again(files: dict[str, bytes]) -> dict[str, bytes]:
    """The bag with checksums that fit whatever its files hold now."""
    payload = {name: data for name, data in files.items() if name.startswith("data/")}
    kept = {name: data for name, data in files.items() if name in ("bagit.txt", "bag-info.txt")}
    if "bag-info.txt" in kept:
        size = sum(map(len, payload.values()))
        lines = kept["bag-info.txt"].split(b"\n")
        oxum = b"Payload-Oxum: %d.%d" % (size, len(payload))
        kept["bag-info.txt"] = b"\n".join(oxum if one.startswith(b"Payload-Oxum") else one for one in lines)
    kept["manifest-sha256.txt"] = _sums(payload)
    return payload | kept | {"tagmanifest-sha256.txt": _sums(kept)}


def _sums(files: dict[str, bytes]) -> bytes:
    lines = (f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in files.items())
    return "".join(lines).encode("utf-8", "surrogatepass")


PATHS = (
    *("../outside", "data/../../outside", "/var/outside", "data//x", "data/./x", "C:\\outside", "data\\..\\x", "~/x"),
    *("data/CON", "data/x.", "DATA/records/items.jsonl", "data/photos/aa/../../x", "data/a:b", "data/records", "data/"),
    *("data/photos/ab/" + "ab" * 32 + "/original", "data/photos/ab/" + "ab" * 32 + "/../../x", "fetch.txt"),
    *("data/records/sign_ins.jsonl", "data/records/credentials.jsonl", "data/records/nothing.jsonl"),
)  # fmt: skip


def spoiled_bag(rng: random.Random, good: dict[str, bytes]) -> bytes:
    """A bag as a zip: rows, names, photos or checksums spoilt, most with checksums that fit; or the zip itself."""
    files, what = dict(good), rng.random()
    if what < 0.2:
        hurt = rng.choice(sorted(files))
        files[hurt] = spoiled_bytes(rng, files[hurt])
    elif what < 0.65:
        hurt = rng.choice(sorted(name for name in files if name.startswith("data/records/") and files[name].strip()))
        lines = files[hurt].splitlines()
        at = rng.randrange(len(lines))
        if rng.random() < 0.8:
            row = spoiled_data(rng, json.loads(lines[at]))
            lines[at] = json.dumps(row).encode("utf-8", "surrogatepass")
        else:
            lines[at] = spoiled_text(rng, lines[at].decode())
        files = signed_again(files | {hurt: b"\n".join(lines)})
    elif what < 0.75:
        hurt = rng.choice([name for name in files if "/photos/" in name])
        files = signed_again(files | {hurt: spoiled_bytes(rng, files[hurt])})
    elif what < 0.9:
        files[rng.choice(PATHS)] = rng.choice((b"x", b"{}\n", b""))
        files = signed_again(files) if rng.random() < 0.8 else files
    elif what < 0.95:
        out = io.BytesIO()
        with tarfile.open(fileobj=out, mode="w") as packed:
            packed.addfile(tarfile.TarInfo("../outside"), io.BytesIO())
        return out.getvalue()
    whole = zipped({f"bag/{name}": data for name, data in files.items()})
    return spoiled_bytes(rng, whole) if rng.random() < 0.15 else whole


@functools.cache
def bag_of_a_store(folder: Path) -> dict[str, bytes]:
    """A small store's archive by path; the same rows each time it is made, but for keys and moments."""
    site = Site(folder / "archived")
    item = site.lanyard()
    site.record(site.cut(item, 3.0, inspection_id="cut-1"))
    archive(folder / "bag", site.manager, site.services)
    site.services.close()
    bag = folder / "bag"
    return {path.relative_to(bag).as_posix(): path.read_bytes() for path in sorted(bag.rglob("*")) if path.is_file()}


def bag(many: int, place: Path) -> dict[str, Any]:
    """Archives as far as their own checks go: nothing is restored."""
    good = bag_of_a_store(place)

    def use(data: bytes) -> None:
        (place / "bag.zip").write_bytes(data)
        with reading_bag(place / "bag.zip") as found:
            found.validate()
            found.info()

    return attack("bag", many, lambda rng: spoiled_bag(rng, good), use)


def restored(many: int, place: Path) -> dict[str, Any]:
    """Archives brought back whole: a store appears that holds together, or nothing is left."""
    good = bag_of_a_store(place)
    bootstrap.open_services(str(place / "empty")).close()
    target = place / "restored"

    def opened(store: str, **choices: Any) -> Services:
        template = place / "empty" / FILE_NAME
        if (
            template.exists() and not Path(store).exists()
        ):  # an empty store's tables are copied: making them anew takes half a second
            Path(store).mkdir(mode=0o700)
            shutil.copy(template, store)
        return bootstrap.open_services(store, **choices)

    def use(data: bytes) -> None:
        (place / "bag.zip").write_bytes(data)
        try:
            account = restore(place / "bag.zip", target, opened)
        except BartackError:
            assert not target.exists() and not list(place.glob(".restored*")), "half a store was left"
            raise
        assert account.faults == ()
        shutil.rmtree(target)

    return attack("restored", many, lambda rng: spoiled_bag(rng, good), use)


def settings(many: int, _place: Path) -> dict[str, Any]:
    def use(data: bytes) -> None:
        try:
            text = data.decode()
        except UnicodeDecodeError:
            text = data.decode("latin-1")
        try:
            read_toml(text)
        except ValueError as fault:
            assert str(fault)
        mail_settings(text, {})

    return attack("settings", many, lambda rng: spoiled_text(rng, SETTINGS), use)


def json_file(many: int, place: Path) -> dict[str, Any]:
    def use(data: bytes) -> None:
        (place / "case.json").write_bytes(data)
        read_json(str(place / "case.json"))

    return attack("json_file", many, lambda rng: spoiled_text(rng, CASE_TEXT), use)


def certificate(many: int, place: Path) -> dict[str, Any]:
    site = Site(place / "store")
    site.record(site.cut(site.lanyard(), 3.0, inspection_id="cut-1"))
    good = certificate_pdf("cut-1", site.services)
    return attack("certificate", many, lambda rng: spoiled_bytes(rng, good), check_certificate)


def claims(many: int, place: Path) -> dict[str, Any]:
    site = Site(place / "store")
    server = replace(site.services, hasher=CHEAP, must_sign_in=True)
    good = {"claims": CLAIMS, "roles": ROLES}

    def use(given: Any) -> None:
        given = given if isinstance(given, dict) else {}
        said = given.get("claims")
        said = said if isinstance(said, dict) else {}
        rules = rules_from(given.get("roles"))
        if not over(said, site.clock.now()):
            sign_in_by_claims(said, rules, server)

    return attack("claims", many, lambda rng: spoiled_data(rng, good), use)


def pins(many: int, place: Path) -> dict[str, Any]:
    """Names and secrets typed at sign-in, and new ones chosen."""
    site = LockedSite(place / "store")

    def spoil(rng: random.Random) -> tuple[str, str]:
        odd = [str(one) for one in ODD]
        name = rng.choice([*odd, "Worker", "worker ", "person-worker", "Ｗorker", "W" * 10_000])
        return name, rng.choice([*odd, "482915", "４８２９１５", "4829 15", "9" * 100_000, "\x1b[2J" * 5])

    def use(given: tuple[str, str]) -> None:
        site.clock.move(minutes=2)
        signed = signing_in.sign_in(*given, site.services, shared=len(given[0]) % 2 == 0)
        mine = replace(site.services, actor=signed.actor)
        signing_in.choose_pin(signed.person.id, given[1], given[0], mine)

    return attack("pins", many, spoil, use)


def searched(many: int, place: Path) -> dict[str, Any]:
    site = Site(place / "store")
    site.record(site.cut(site.lanyard(), 3.0, inspection_id="cut-1"))

    def spoil(rng: random.Random) -> Any:
        words = [rng.choice([*SYNTAX, *map(str, ODD), "cut", "LAN-001", "hook"]) for _ in range(rng.randint(1, 6))]
        return spoiled_data(rng, QUERY | {"text": rng.choice(("", " ")).join(words)[: rng.choice((50, 300))]})

    def use(given: Any) -> None:
        search(query_of(given if isinstance(given, dict) else {}), site.services, after=None)

    return attack("searched", many, spoil, use)
