"""Proofs that leave the site inside a certificate, and checking such a file with nothing but itself."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from inspect_core.domain.decision import Outcome
from inspect_core.domain.errors import BadInput
from inspect_core.domain.palette import OUTCOME_SIGNS
from inspect_core.domain.record import LedgerEntry, TreeHead
from inspect_core.languages import OFFERED
from inspect_core.languages.recognise import WRITTEN
from inspect_core.languages.templates import as_written
from inspect_core.ledger import (
    canonical,
    check_proof,
    fingerprint,
    head_plain,
    leaf_of,
    node_place,
    proof_plain,
)
from inspect_core.ports import UnitOfWork
from inspect_core.reports.certificate import PROOF_NAME
from inspect_core.reports.certificate_data import CertificateProof
from inspect_core.reports.typeface import Wording

MOST_BYTES = 200_000_000
_MOST_PROOF = 5_000_000

PROVES = (
    "The holder of this key recorded the inspection with exactly these facts, not later than the signed head. "
    "Nothing in it was changed since."
)
PROVES_NOT = (
    "That the gear is as recorded, that nothing was found since, or who the key's holder is: compare the key with what "
    "the site tells you itself. People are recorded by an identifier; the name on the paper is not part of the proof."
)


def proof_of(entry: LedgerEntry, item_id: str, uow: UnitOfWork) -> CertificateProof | None:
    """The proof that an inspection's entry, and what was registered of its item, are part of the newest signed head.

    None where no head covers the entry yet.
    """
    head = uow.tree.newest_head()
    if head is None or head.size < entry.number:
        return None
    about = [*uow.ledger.of_subject("item", item_id), *uow.ledger.of_subject("item correction", item_id)]
    registered = [one for one in about if one.number <= head.size][-1:]

    def node(level: int, position: int) -> bytes:
        number, place = node_place(level, position)
        return uow.tree.nodes([number])[number][place]

    document = canonical(proof_plain(head, [entry, *registered], node))
    return CertificateProof(head, leaf_of(entry).hex(), fingerprint(head.public_key), document)


@dataclass(frozen=True, slots=True)
class CertificateCheck:
    """What the file of a certificate shows by itself. `facts`: what was signed, for comparing with the paper."""

    head: TreeHead
    key: str
    facts: Mapping[str, str]
    faults: tuple[str, ...]

    def plain(self) -> dict[str, Any]:
        """As JSON data."""
        return {
            "head": head_plain(self.head),
            "key": self.key,
            "facts": dict(self.facts),
            "faults": list(self.faults),
            "proves": PROVES if not self.faults else None,
            "proves_not": PROVES_NOT,
        }


def check_certificate(pdf: bytes) -> CertificateCheck:
    """Check the file of a certificate: its proof by itself, and what the paper prints against what was signed.

    Raises BadInput where the file is no PDF or holds no proof.
    """
    document, text = _read(pdf)
    try:
        data = json.loads(document)
    except (ValueError, RecursionError):
        raise BadInput("The proof in this file is damaged.", "Ask for the file as it was issued.") from None
    proved = check_proof(data)
    inspection, item = _records(proved.entries)
    faults = list(proved.faults)
    key = fingerprint(proved.head.public_key)
    facts = _facts(inspection, item, proved.entries[0]["number"])
    printed = {**facts, "key of this site": key}
    said = _whole(inspection, item)
    if Outcome(inspection["outcome"]) is not Outcome.IN_SERVICE:
        sign = OUTCOME_SIGNS[Outcome(inspection["outcome"])]
        printed["outcome"] = f"{sign.word}\n{sign.instruction}"  # two lines of the paper, each told by itself
    else:
        del printed["outcome"]  # a paper printed later may rightly say worse
    faults += [
        f"The paper does not say “{' '.join(words.split())}” ({name}), which is what was signed."
        for name, words in printed.items()
        if not _says(text, name, said.get(name, words))
    ]
    return CertificateCheck(proved.head, key, facts, tuple(faults))


def _read(pdf: bytes) -> tuple[bytes, str]:
    """The proof inside a PDF, and the text of its pages without blanks, a line for each page."""
    from pypdf import PdfReader
    from pypdf.errors import PyPdfError

    if len(pdf) > MOST_BYTES:
        raise BadInput("This file is too large to be a certificate.", "Give the file as it was issued.")
    try:
        reader = PdfReader(io.BytesIO(pdf))
        held = reader.attachments.get(PROOF_NAME, [])
        text = "\n".join(_squeezed(page.extract_text()) for page in reader.pages) + "\n"
    except (PyPdfError, ValueError, TypeError, LookupError, AttributeError, RecursionError, OSError):
        raise BadInput("This file cannot be read as a PDF.", "Give the file as it was issued.") from None
    if not held:
        raise BadInput(
            "This file holds no proof.", "Ask for a newer certificate; before the account was signed they had none."
        )
    if len(held) > 1 or len(held[0]) > _MOST_PROOF:
        raise BadInput("This file holds more than one proof, or one that is too large.", "Ask for it again.")
    return bytes(held[0]), text


def _records(entries: tuple[Mapping[str, Any], ...]) -> tuple[Mapping[str, Any], Mapping[str, Any]]:
    """The inspection and the item that the entries are about; an entry about another item proves nothing here."""
    try:
        inspection = entries[0]["body"]["inspection"]
        item: Mapping[str, Any] = next((entry["body"]["item"] for entry in entries[1:]), {})
        if item and item["id"] != inspection["item"]:
            raise LookupError
    except (LookupError, TypeError):
        raise BadInput("The proof in this file is not that of an inspection.", "Give a certificate.") from None
    return inspection, item


def _facts(inspection: Mapping[str, Any], item: Mapping[str, Any], number: int) -> dict[str, str]:
    """What a reader most needs, in the words in which a certificate prints it."""
    day = str(inspection["at"])[:10]
    outcome = Outcome(inspection["outcome"])
    facts = {
        "inspection": f"Inspection {inspection['id']}",
        "made": f"{str(inspection['type']).capitalize()} inspection of {day}",
        "outcome": OUTCOME_SIGNS[outcome].word,
        "rule set": str(inspection["decision"]["rules"]["digest"]),
        "ledger entry": f"number {number}",
    }
    if "profile" in inspection:
        facts["rule profile"] = str(inspection["profile"])
    if "next_due" in inspection:
        fit = outcome is Outcome.IN_SERVICE
        facts["next periodic due"] = str(inspection["next_due"] or "not set") if fit else _NOT_DUE
    if item:
        facts["item"] = f"{str(item['kind']).capitalize()} {item['tag']}"
        registered = {name: item[key] for name, key in _REGISTERED.items() if key in item}
        facts |= {name: str(value or "not recorded") for name, value in registered.items()}
    return {name: words for name, words in facts.items() if words}


def _whole(inspection: Mapping[str, Any], item: Mapping[str, Any]) -> dict[str, str]:
    """Facts that a paper says in a longer sentence, or beside what a person typed: other languages turn the whole
    sentence, and leave what was typed as it is."""
    said = {}
    if inspection.get("site"):
        kind, day = str(inspection["type"]).capitalize(), str(inspection["at"])[:10]
        site = as_written(str(inspection["site"]))
        said["made"] = f"{kind} inspection of {day} at {site}"
    if item:
        tag = as_written(str(item["tag"]))
        said["item"] = f"{str(item['kind']).capitalize()} {tag}"
    return said


#: What a certificate prints as the next due date of an item that is not in service.
_NOT_DUE = "none while out of service"
#: Names of registered facts on the paper → where the account holds them.
_REGISTERED = {
    "maker": "maker",
    "model": "model",
    "serial": "serial",
    "made on": "made_on",
    "first used on": "first_used_on",
}
#: What people typed; a paper prints it as it is in every language.
_WRITTEN = ("maker", "model", "serial")
#: What stands before a fact on the paper, and what after it unless the page ends: without both, part of another maker's
#: name or a date somewhere else would do.
_BETWEEN = {
    "maker": ("Maker", "Model"),
    "model": ("Model", "Serial"),
    "serial": ("Serial", "Made on"),
    "made on": ("Made on", "First used on"),
    "first used on": ("First used on", "Standards on label"),
    "rule profile": ("Rule profile", "Next periodic due"),
    "next periodic due": ("Next periodic due", "Item's state now"),
}


def _says(text: str, name: str, words: str) -> bool:
    """Whether the pages print a fact, in the letters that a paper has."""
    before, after = _BETWEEN.get(name, ("", ""))
    # A paper printed later may rightly say worse.
    wanted = {words, _NOT_DUE} if name == "next periodic due" else {words}
    return any(
        _squeezed(tell(before) + Wording().plain(one if name in _WRITTEN else _bare(tell(one)))) + end in text
        for tell in (language.tell for language in OFFERED)
        for one in wanted
        for end in (_squeezed(tell(after)), "\n")
    )


def _bare(text: str) -> str:
    """Without the marks around what a person typed; English keeps them."""
    return WRITTEN.sub(r"\1", text)


def _squeezed(text: str) -> str:
    return "".join(text.split())
