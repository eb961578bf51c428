"""Signed heads against the tree that the entries really make."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC

from inspect_core.domain.record import TreeHead
from inspect_core.ledger import Frontier, fingerprint, signed_by
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.verify_report import Fault, Findings


class Heads:
    """Signed heads by their size: those of the store, and those that were kept elsewhere."""

    def __init__(self, uow: UnitOfWork, elsewhere: Sequence[TreeHead]) -> None:
        self._uow = uow
        self._stored = tuple(uow.tree.heads())
        self._elsewhere = tuple(elsewhere)
        self.newest = self._stored[-1] if self._stored else None
        self._due: dict[int, list[tuple[TreeHead, str]]] = {}
        for head in self._stored:
            self._due.setdefault(head.size, []).append((head, "the store"))
        for head in self._elsewhere:
            self._due.setdefault(head.size, []).append((head, "the file given"))
        self._last_good = 0

    def at(self, frontier: Frontier, found: Findings) -> None:
        """Compares every head of the size that the tree has now."""
        for head, where in self._due.pop(frontier.size, ()):
            if not signed_by(head):
                words = f"The signature of the head of {head.size} entries in {where} is false ({_when(head)})."
                found.add(Fault("head", words, entry=head.size))
            elif head.root != frontier.root():
                words = (
                    f"Entries {self._last_good + 1} to {head.size} are not what was signed on {_when(head)} "
                    f"(head in {where})."
                )
                found.add(Fault("head", words, entry=head.size))
            else:
                self._last_good = head.size

    def finish(self, frontier: Frontier, found: Findings) -> None:
        """Heads beyond the end, entries beyond the newest head, and whose keys signed."""
        for size in sorted(self._due):
            for head, where in self._due[size]:
                lost = f"entry {size} is" if size == frontier.size + 1 else f"entries {frontier.size + 1} to {size} are"
                true = "" if signed_by(head) else " The signature of that head is false."
                words = f"The end is cut off: {lost} missing. A head in {where} covers {size} entries ({_when(head)})."
                found.add(Fault("cut off", words + true, entry=size))
        if self.newest is None:
            if frontier.size:
                found.notices.append("No head was signed yet; the next record signs one over everything before it.")
        elif self.newest.size < frontier.size:
            words = f"Entries {self.newest.size + 1} to {frontier.size} stand after the newest signed head."
            found.add(Fault("unsigned", words, entry=frontier.size))
        self._keys(found)

    def _keys(self, found: Findings) -> None:
        """Every key after the first has to be introduced by an entry that the head before it led up to."""
        if not self._stored:
            return
        first = self._stored[0]
        keys = [first.public_key]
        for head in self._stored:
            if head.public_key == keys[-1]:
                continue
            entries = self._uow.ledger.of_subject("signing key", _id(head.public_key))
            if any(entry.number <= head.size and entry.body.get("before") == keys[-1].hex() for entry in entries):
                keys.append(head.public_key)
            else:
                words = (
                    f"The head of {head.size} entries ({_when(head)}) was signed with the key "
                    f"{fingerprint(head.public_key)}, which no entry introduced."
                )
                found.add(Fault("head", words, entry=head.size))
                break
        started = f"Signed heads exist since {_when(first)}; the first covers entries 1 to {first.size}."
        found.notices.append(f"{started} Key {fingerprint(keys[-1])}.")
        if len(keys) > 1:
            earlier = ", ".join(fingerprint(key) for key in keys[:-1])
            found.notices.append(f"The key was changed {len(keys) - 1} times; before it: {earlier}.")
        for head in self._elsewhere:
            if head.public_key not in keys:
                words = (
                    f"The head given ({_when(head)}) was signed with the key {fingerprint(head.public_key)}, which is "
                    f"none of this store's."
                )
                found.add(Fault("head", words, entry=head.size))


def _when(head: TreeHead) -> str:
    return f"{head.at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


def _id(public_key: bytes) -> str:
    from inspect_core.ledger import key_id

    return key_id(public_key)
