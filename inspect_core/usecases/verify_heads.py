"""Signed heads against the tree that the entries really make."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC

from inspect_core.domain.record import LedgerEntry, TreeHead
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
        #: Number of the entry, key before it, key from then on; both in hex.
        self._changes: list[tuple[int, str, str]] = []

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

    def note(self, entry: LedgerEntry) -> None:
        """Remembers an entry that says that another key signs from now on."""
        if entry.subject == "signing key":
            self._changes.append((entry.number, str(entry.body.get("before")), str(entry.body.get("public_key"))))

    def _key_at(self, size: int) -> str:
        """The key that signs a tree of that size, as the entries say; the first head's where they say nothing."""
        before = [key for number, _, key in self._changes if number <= size]
        if before:
            return before[-1]
        return self._changes[0][1] if self._changes else self._stored[0].public_key.hex()

    def _keys(self, found: Findings) -> None:
        """Every key after the first has to be introduced by an entry, and each entry to name the key before it."""
        if not self._stored:
            return
        first, last = self._stored[0], self._stored[-1]
        for (number, before, _), (_, _, known) in zip(self._changes[1:], self._changes, strict=False):
            if before != known:
                words = f"Entry {number} introduces a key after another one than the entry before it did."
                found.add(Fault("head", words, entry=number))
        for head in self._stored:
            if head.public_key.hex() != self._key_at(head.size):
                words = (
                    f"The head of {head.size} entries ({_when(head)}) was signed with the key "
                    f"{fingerprint(head.public_key)}, which no entry introduced."
                )
                found.add(Fault("head", words, entry=head.size))
        started = f"Signed heads exist since {_when(first)}; the first covers entries 1 to {first.size}."
        found.notices.append(f"{started} Key {fingerprint(last.public_key)}.")
        keys = {bytes.fromhex(key) for _, before, after in self._changes for key in (before, after) if _is_key(key)}
        keys |= {head.public_key for head in self._stored}
        if self._changes:
            times = "once" if len(self._changes) == 1 else f"{len(self._changes)} times"
            earlier = ", ".join(sorted(fingerprint(key) for key in keys - {last.public_key}))
            found.notices.append(f"The key was changed {times}; before it: {earlier}.")
        for head in self._elsewhere:
            if head.public_key not in keys:
                words = (
                    f"The head given ({_when(head)}) was signed with the key {fingerprint(head.public_key)}, which is "
                    f"none of this store's."
                )
                found.add(Fault("head", words, entry=head.size))


def _when(head: TreeHead) -> str:
    return f"{head.at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"


def _is_key(text: str) -> bool:
    return len(text) == 64 and all(sign in "0123456789abcdef" for sign in text)
