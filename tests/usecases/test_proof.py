"""The file of a certificate is checked by itself; whatever is changed in it is found."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
import sqlalchemy as sa
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pypdf import PdfReader, PdfWriter

from inspect_core.domain.custody import State
from inspect_core.domain.errors import BadInput
from inspect_core.domain.inspection import InspectionType
from inspect_core.ledger import head_from_plain, head_message, leaf_hash
from inspect_core.ledger.chain import canonical
from inspect_core.reports.certificate import PROOF_NAME, certificate
from inspect_core.usecases.certificate import certificate_data, certificate_pdf
from inspect_core.usecases.proof import check_certificate
from tests.reports.reading import qr_texts
from tests.usecases.site import Site


@pytest.fixture(scope="module")
def issued(tmp_path_factory) -> tuple[bytes, Site]:
    site = Site(tmp_path_factory.mktemp("proof") / "store")
    item = site.lanyard()
    site.record(site.cut(item, 3.0, inspection_id="cut-1"))
    for number in range(5):
        site.record(site.check(site.lanyard(f"LAN-1{number}"), f"check-{number}"))
    return certificate_pdf("cut-1", site.services), site


def proof_in(pdf: bytes) -> dict[str, Any]:
    (document,) = PdfReader(io.BytesIO(pdf)).attachments[PROOF_NAME]
    found: dict[str, Any] = json.loads(document)
    return found


def with_proof(pdf: bytes, change: Callable[[dict[str, Any]], Any]) -> bytes:
    """The same pages with another proof inside."""
    data = proof_in(pdf)
    changed = change(data)
    data = data if changed is None else changed
    writer = PdfWriter()
    for page in PdfReader(io.BytesIO(pdf)).pages:
        writer.add_page(page)
    writer.add_attachment(PROOF_NAME, json.dumps(data).encode())
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_a_certificate_proves_itself(issued):
    pdf, site = issued
    check = check_certificate(pdf)
    assert check.faults == ()
    assert check.facts["item"] == "Webbing lanyard LAN-001"
    assert check.facts["made"] == "Before use inspection of 2026-03-02"
    assert check.facts["outcome"] == "Withdraw"
    assert check.head.public_key == site.services.signer.public_key()
    assert len(proof_in(pdf)["entries"][0]["path"]) > 2


def test_the_same_pages_with_the_same_proof_still_do(issued):
    assert check_certificate(with_proof(issued[0], lambda data: None)).faults == ()


def test_the_code_on_the_paper_leads_to_the_same_leaf_root_and_key(issued):
    pdf, _ = issued
    data, check = proof_in(pdf), check_certificate(pdf)
    (text,) = qr_texts(pdf)
    first, entry, head, key = text.split("\n")
    assert first == "bartack:inspection:cut-1"
    assert entry == f"entry {data['entries'][0]['entry']['number']} {data['entries'][0]['leaf']}"
    assert head == f"head {check.head.size} {check.head.root.hex()}"
    assert key == f"key {check.key.replace(' ', '')}"


def _body(data):
    return data["entries"][0]["entry"]["body"]["inspection"]


def _set(data, value):
    _body(data)["outcome"] = value


def _set_and_leaf(data):
    _body(data)["outcome"] = "in service"
    data["entries"][0]["leaf"] = leaf_hash(canonical(data["entries"][0]["entry"])).hex()


def _path(data):
    data["entries"][0]["path"][0] = "00" * 32


def _shorter(data):
    data["entries"][0]["path"].pop()


def _root(data):
    data["head"]["root"] = "11" * 32


def _time(data):
    data["head"]["at"] = "2020-01-01T00:00:00.000000+00:00"


def _another_key(data):
    """Signs the same head anew with a key of one's own."""
    key = Ed25519PrivateKey.generate()
    head = head_from_plain(data["head"])
    import base64

    signature = key.sign(head_message(head.size, head.root, head.at))
    data["head"] |= {
        "public_key": key.public_key().public_bytes_raw().hex(),
        "signature": base64.b64encode(signature).decode(),
    }


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda data: _set(data, "in service"), "does not give the leaf"),
        (_set_and_leaf, "not part of what was signed"),
        (_path, "not part of what was signed"),
        (_shorter, "not part of what was signed"),
        (_root, "signature of the head is false"),
        (_time, "signature of the head is false"),
        (_another_key, "key of this site"),
    ],
)
def test_a_changed_proof_is_found(issued, change, told):
    check = check_certificate(with_proof(issued[0], change))
    assert any(told in fault for fault in check.faults), check.faults


def test_a_proof_moved_to_another_paper_is_found(issued):
    pdf, site = issued
    other = certificate_pdf("check-1", site.services)
    check = check_certificate(with_proof(other, lambda data: proof_in(pdf)))
    assert any("Inspection cut-1" in fault for fault in check.faults)
    assert any("LAN-001" in fault for fault in check.faults)
    assert any("Do not use. It never comes back" in fault for fault in check.faults)


@pytest.fixture(scope="module")
def fit(tmp_path_factory) -> Site:
    """A site with a lanyard that an inspection in detail found fit, its maker's name partly in letters no paper has."""
    site = Site(tmp_path_factory.mktemp("fit") / "store")
    item = site.lanyard(maker="Maker 索具 & Co", model="A10")
    site.record(site.check(item, "periodic-1", type=InspectionType.PERIODIC, by=site.competent))
    return site


def test_a_true_paper_names_what_was_signed_of_the_item_and_its_due_date(fit: Site):
    check = check_certificate(certificate_pdf("periodic-1", fit.services))
    assert check.faults == ()
    wanted = {
        "maker": "Maker 索具 & Co",
        "model": "A10",
        "serial": "S-LAN-001",
        "made on": "2025-06-01",
        "first used on": "2026-01-05",
        "rule profile": "common",
        "next periodic due": "2027-03-02",
    }
    assert {name: check.facts[name] for name in wanted} == wanted


@pytest.mark.parametrize(
    ("part", "changes", "told"),
    [
        ("inspection", {"next_due": date(2036, 1, 1)}, "(next periodic due)"),
        ("inspection", {"profile": "us construction"}, "(rule profile)"),
        ("item", {"maker": "Other Maker"}, "(maker)"),
        ("item", {"maker": "Maker 索具 & Co of another place"}, "(maker)"),
        ("item", {"model": "A100"}, "(model)"),
        ("item", {"serial": "S-LAN-0017"}, "(serial)"),
        ("item", {"made_on": date(2026, 1, 1)}, "(made on)"),
        ("item", {"first_used_on": None}, "(first used on)"),
    ],
)
def test_a_paper_that_prints_something_else_under_a_true_proof_is_found(fit: Site, part, changes, told):
    true = certificate_data("periodic-1", fit.services)
    check = check_certificate(certificate(replace(true, **{part: replace(getattr(true, part), **changes)}), {}))
    assert [told in fault for fault in check.faults] == [True], check.faults


def test_a_paper_printed_while_the_item_is_on_hold_shows_no_due_date_and_is_true(fit: Site):
    true = certificate_data("periodic-1", fit.services)
    held = replace(true, standing=replace(true.standing, state=State.ON_HOLD))
    check = check_certificate(certificate(held, {}))
    assert check.faults == () and check.facts["next periodic due"] == "2027-03-02"


def test_gear_that_is_not_fit_has_no_due_date_on_a_true_paper(issued):
    assert check_certificate(issued[0]).facts["next periodic due"] == "none while out of service"


@pytest.mark.parametrize(
    "change",
    [
        lambda data: {"format": "another"},
        lambda data: [],
        lambda data: {**data, "entries": []},
        lambda data: {**data, "entries": [{**data["entries"][0], "path": ["zz"]}]},
        lambda data: {**data, "entries": [{**data["entries"][0], "path": ["00" * 32] * 100}]},
        lambda data: {**data, "entries": [{**data["entries"][0], "entry": {"number": True}}]},
        lambda data: {**data, "entries": data["entries"][1:]},
        lambda data: {**data, "head": {**data["head"], "signature": ""}},
    ],
)
def test_what_is_no_proof_is_refused(issued, change):
    with pytest.raises(BadInput, match=r"no proof of a record|not that of an inspection|no signed head"):
        check_certificate(with_proof(issued[0], change))


def test_files_that_are_no_certificate_are_refused(issued):
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    out = io.BytesIO()
    writer.write(out)
    with pytest.raises(BadInput, match="holds no proof"):
        check_certificate(out.getvalue())
    for data in (b"", b"%PDF-1.7", issued[0][:2000], b"\x00" * 1000):
        with pytest.raises(BadInput, match=r"cannot be read as a PDF|holds no proof"):
            check_certificate(data)


def test_a_store_whose_account_is_not_signed_prints_no_proof(tmp_path):
    from storage.engine import open_engine
    from storage.unit_of_work import unit_of_work_factory

    site = Site(tmp_path / "store")
    unsigned = replace(site.services, unit_of_work=unit_of_work_factory(open_engine(tmp_path / "store")))
    with unsigned.unit_of_work(write=True) as uow:
        uow.tree._work.change(sa.text("DELETE FROM tree_heads"))
        uow.commit()
    site.services = unsigned
    item = site.lanyard()
    site.record(site.check(item))
    with pytest.raises(BadInput, match="holds no proof"):
        check_certificate(certificate_pdf("check-1", unsigned))
