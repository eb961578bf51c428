"""Papers in other languages: wholly told, and as provable as the English ones."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from inspect_core.languages import language
from inspect_core.languages.language import PSEUDO
from inspect_core.usecases.certificate import certificate_pdf
from inspect_core.usecases.proof import check_certificate
from tests.languages.outside import words_outside
from tests.usecases.site import Site

#: Names, and titles of standards as printed.
KNOWN = {
    *("LAN", "HSE", "INDG", "list", "defect", "detailed", "inspection", "inspections", "AS", "NZS", "CSA", "ASME"),
    *("SHA-256", "UTC", "FILE", "pdf", "bartack", "verify", "certificate", "Maker", "Model", "Mill", "Street", "North"),
    *("cut-", "check-", "Quay", "Worker", "or", "snag", "webbing", "edge", "by", "hand"),
    *("WAC", "via", "OSHA", "CFR", "EN", "DRB-", "DRB", "px"),
}


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    made = Site(Path(tmp_path_factory.mktemp("papers")) / "store")
    item = made.lanyard()
    made.record(made.cut(item, 3.0, inspection_id="cut-1"))
    made.record(made.check(made.lanyard("LAN-2"), "check-1"))
    return made


def pages(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize("which", ["cut-1", "check-1"])
@pytest.mark.parametrize("code", ["fr", "es"])
def test_a_certificate_in_another_language_proves_the_same(site: Site, which: str, code: str) -> None:
    pdf = certificate_pdf(which, site.services, language(code))
    assert check_certificate(pdf).faults == ()
    assert PdfReader(io.BytesIO(pdf)).trailer["/Root"]["/Lang"] == code


def test_a_french_paper_that_says_something_else_is_found_out(site: Site) -> None:
    """The sentences of a paper are compared in its own language, not merely looked for in some language."""
    from pypdf import PdfWriter

    from inspect_core.reports.certificate import PROOF_NAME

    other = certificate_pdf("check-1", site.services, language("fr"))
    (proof,) = PdfReader(io.BytesIO(certificate_pdf("cut-1", site.services))).attachments[PROOF_NAME]
    writer = PdfWriter()
    for page in PdfReader(io.BytesIO(other)).pages:
        writer.add_page(page)
    writer.add_attachment(PROOF_NAME, proof)
    out = io.BytesIO()
    writer.write(out)
    assert check_certificate(out.getvalue()).faults != ()


def test_the_same_french_certificate_has_the_same_bytes(site: Site) -> None:
    assert certificate_pdf("cut-1", site.services, language("fr")) == certificate_pdf(
        "cut-1", site.services, language("fr")
    )


def test_a_french_certificate_is_french(site: Site) -> None:
    text = pages(certificate_pdf("cut-1", site.services, language("fr")))
    for words in ("Certificat d’examen", "Retirer du service", "Constats", "coupure", "Avant de se fier à ce document"):
        assert words in text


@pytest.mark.parametrize("which", ["cut-1", "check-1"])
def test_a_certificate_says_nothing_that_the_book_does_not_hold(site: Site, which: str) -> None:
    text = re.sub(r"webbing-cut-\S+", "", pages(certificate_pdf(which, site.services, PSEUDO)))  # names of rules
    assert words_outside(text, known=KNOWN) == []
