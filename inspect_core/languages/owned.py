"""Which places of a sentence hold what a person chose: tags, serial numbers, names, makers, sites, notes, reasons.

What stands there is shown as it was typed in every language, even where the book holds the same word: who compares a
tag with the screen must find the tag, and "Cut" may be a site, "Mark" a person and "2019-05-06" a serial number.
"""

from __future__ import annotations

#: Places that hold such values in every sentence.
_ALWAYS = frozenset(
    {
        *("tag", "tag2", "tags", "serial", "site", "maker", "model", "person", "kit_name", "holder"),
        *("put_in", "taken_out", "note"),
    }
)
#: Sentences in which other places do.
_IN: dict[str, tuple[str, ...]] = {
    "{name} is no longer active here.": ("name",),
    "Ask a competent person other than {name}.": ("name",),
    "With {name} since {since}: fetch it.": ("name",),
    "Signed in the record by {name} by entering the PIN or pass phrase again on {when}.": ("name",),
    "Inspector: {name}": ("name",),
    "with {name} since {since}": ("name",),
    "with {name}": ("name",),
    "With {name}": ("name",),
    "Witness: {name}.": ("name",),
    "Sign out {name}": ("name",),
    "Open {name}": ("name",),
    "{name} (everybody)": ("name",),
    "Delete “{name}”": ("name",),
    "“{name}” is saved.": ("name",),
    "**Signed in as {name}**, {role}.": ("name",),
    "{name} is entered as {role} already. Pick the name from the list.": ("name",),
    "{name} is entered as {role}.": ("name",),
    "{name} is entered already.": ("name",),
    "{name} has a new PIN.": ("name",),
    "{name} has a new PIN. They have to choose their own before they can sign.": ("name",),
    "{name} is no administrator of this site.": ("name",),
    "The name is replaced by {name}.": ("name",),
    "The name is replaced by {name} everywhere in this store.": ("name",),
    "Nobody here is called “{name}”.": ("name",),
    "Nobody here is called {name}.": ("name",),
    "There is a kit called {name} already.": ("name",),
    "This kit is issued to {name} already.": ("name",),
    "{tags} is in the kit {name}.": ("name",),
    "No search is saved as “{name}”.": ("name",),
    "A search called “{name}” is saved already.": ("name",),
    "It follows photo “{name}”, which shows the labels of {tags}.": ("name",),
    "Decided by {by}. The rules alone said “{outcome}”.": ("by",),
    "**{at}** {words}, by {by}.": ("by",),
    "**{since} to {until}: {state}.** {move_words} by {by}: {reason}": ("by",),
    ":material/edit_note: **Register corrected on {at}** by {name_of} because: {why}": ("name_of",),
    "{at}  register corrected by {name_of} because: {reason}": ("name_of", "reason"),
    "{kind} · {type_words} of {at} · {name_of}": ("name_of",),
    "{at}  {type}, {outcome}, by {name_of}; {photo_ids} photos, {marks} marks; {id}": ("name_of",),
}


def owned(message: str, places: frozenset[str]) -> frozenset[str]:
    """The places of a message that hold what a person chose."""
    return places & (_ALWAYS | frozenset(_IN.get(message, ())))


#: Heads of columns, and labels before a value, under which stands what a person chose.
_HEADS = frozenset(
    {
        *("tag", "serial", "serial number", "site", "maker", "model", "note", "name", "kit", "person", "inspector"),
        *("with", "by", "who has it", "who", "words found", "standards on its label", "place"),
        # Boxes to choose from.
        *("sites", "makers", "models", "people", "made by", "maker's model", "take out", "signed by", "saved searches"),
    }
)
#: What the program writes there where a person chose nothing.
_NOTHING = frozenset(
    {
        "",
        "–",
        "not recorded",
        "not known",
        "not set",
        "none",
        "no site",
        "no site entered",
        "nothing",
        "nobody on record",
    }
)


def is_owned(head: str, text: str) -> bool:
    """Whether a text under that head, or beside that label, is what a person chose."""
    return head.lower() in _HEADS and text.lower() not in _NOTHING
