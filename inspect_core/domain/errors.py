"""Every refusal Bartack can give.

An error carries two sentences for a person: what is wrong, and what to do about it. Screens and the
command line print both and never a stack trace. Facts that a program may want travel as attributes.
"""


class BartackError(Exception):
    """Base of all refusals.

    Parameters
    ----------
    problem: what is wrong, one plain sentence, ends with a full stop.
    remedy: what the reader can do now, one plain sentence, ends with a full stop.
    """

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem} {remedy}")
        self.problem = problem
        self.remedy = remedy

    def __reduce__(self) -> tuple[type, tuple[object, ...]]:
        """How it comes whole out of another process."""
        return type(self), (self.problem, self.remedy)


class BadInput(BartackError):
    """Something a person or a file gave us breaks a stated expectation."""


class BadPhoto(BadInput):
    """A file that is no usable photograph: truncated, mislabelled, too large, or not a picture at all."""


class NotFound(BartackError):
    """A tag, serial or identifier that the store does not hold."""


class Conflict(BartackError):
    """The store holds something that contradicts the command, such as a tag already in use."""


class NotAllowed(BartackError):
    """The person's role, or the item's state, forbids this."""


class StoreFault(BartackError):
    """The store cannot be read or written: disk full, missing folder, damaged file."""


class BadRules(BartackError):
    """Rule files that cannot be trusted. `faults` lists every one, each as "file: key: what is wrong"."""

    #: So many are spelled out; a file of another kind can have any number.
    MOST_TOLD = 200

    def __init__(self, faults: tuple[str, ...]) -> None:
        lines = [f"  {fault[:400]}" for fault in faults[: self.MOST_TOLD]]
        if len(faults) > self.MOST_TOLD:
            lines.append(f"  and {len(faults) - self.MOST_TOLD} more")
        super().__init__(
            "The rule files have faults:\n" + "\n".join(lines),
            "Mend each line named above; nothing is decided until all are mended.",
        )
        self.faults = faults

    def __reduce__(self) -> tuple[type, tuple[object, ...]]:
        return type(self), (self.faults,)
