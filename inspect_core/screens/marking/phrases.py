"""What the marking component says, with named places; `tongue.js` recognises it and says it in another language.

`tests/screens/marking/test_phrases.py` finds a text of the scripts that is missing here.
"""

from __future__ import annotations

from inspect_core.languages import Language

PHRASES = (
    # The row that says what a mark shows, and on which part.
    *("Leave this mark as it is and set up the next one", "Next", "Shows", "On part", "Next mark", "Choose…"),
    *("Mark {number}: say {lack}", "Mark {number}", "what it shows", "on which part", "{one} and {other}"),
    # What each tool does.
    *("Move", "Line", "Bent", "Box", "Area", "Outline", "Pan", "Undo", "Redo", "Delete", "Large", "Finish", "Cancel"),
    *("Close", "Zoom", "Tools", "Actions", "Shape being drawn", "Back to the page", "Photo over the whole screen"),
    *("Select, move and reshape marks", "Straight line between two ends", "Bent line through several points"),
    *("Box between two corners", "Area from corner to corner", "Outline drawn by hand around an area"),
    *("Move the photo under the finger", "{title} (key {number})", "Undo (Ctrl+Z)", "Redo (Ctrl+Y)"),
    *("Delete the chosen mark (Delete)", "Finish this shape (Enter twice in one place)", "Cancel this shape (Escape)"),
    *("Closer (+)", "Farther (−)", "Whole photo (0)", "what is asked for", "the damage"),
    *("Move: tap a shape, then drag it or its corners.", "Move: tap a mark, then drag it or its corners."),
    *("Line: drag along {what}, or tap both ends.", "Bent line: tap along {what}, then Finish."),
    *("Box: drag from corner to corner, or tap both.", "Area: tap its corners, then Finish."),
    *("Outline: draw around {what} in one go.", "Pan: drag the photo. Two fingers do it at any time."),
    # Kinds of shapes.
    *("line", "bent line", "box", "area", "outline", "point"),
    # What happened.
    *("Photo to mark", "one too many", "Mark {number} drawn. Now say {lack}.", "Mark {number} added: {what}."),
    *("Drawn: {done}. Now: {next}.", "Drawn: {done}."),
    *("Mark {number} is now {what}.", "Mark {number} deleted. Undo brings it back."),
    *("Earlier mark taken over as mark {number}. Check its outline.", "Shape cancelled.", "Corner removed."),
    *("Hint accepted as mark {number}. Check its outline.", "A mark needs a size: it stays as it was."),
    *("Mark {number} moved.", "Mark {number} reshaped.", "Mark {number}: {what}.", "Crosshair at {x}, {y}."),
    *(
        "{what} on {part} ({by})",
        "Enter",
        "Escape",
        "next mark, with Shift the one before; after the last one on to the next button",
    ),
    "place a point; once more in the same place to finish; with the move tool: take the next corner",
    *("{what} on {part}", " on {part}", "no part yet", "Corner {number} of {many}. Arrows move it."),
    *("Too small: nothing was added.", "Too small: draw around it without lifting."),
    *("First end placed. Place the other end.", "First corner placed. Place the opposite corner."),
    *("{number} placed, {lack} more at least.", "{number} placed. Finish, or place more."),
    *("Outline begun. Trace it with the arrow keys, then press Enter.",),
    # Marks kept on this device.
    *("Bring back", "Discard", "Marks kept on this device", "{number} brought back."),
    *("Undone. {number} marks.", "Redone. {number} marks.", "Now say {lack}."),
    *("Brought back what was drawn last on this device.",),
    *("This device kept {number} mark drawn on this photo earlier and not recorded.",),
    *("This device kept {number} marks drawn on this photo earlier and not recorded.",),
    # Keys.
    *("Keys and gestures", "Arrows", "Two fingers", "Space and drag", "choose a tool, in the order of the buttons"),
    *("move the crosshair, or the chosen mark or corner (Shift: far, Ctrl or Alt: one pixel)", "undo, redo"),
    *("cancel the shape, let go of the corner or the mark", "delete the chosen corner or mark"),
    *("closer, farther, whole photo", "zoom and pan at any time", "pan; the wheel zooms"),
    *(
        "Keys 1 to 7 choose a tool, arrows move the crosshair, Enter places a point, Tab goes through the marks. "
        "All keys are listed below the marks.",
    ),
    # The list.
    *("Hints from the photo", "A program found these. They are no marks until you accept them."),
    *("Marked on the earlier photo", "Edit mark {number}", "Delete mark {number}", "Note", "Take over", "Accept"),
    *(
        "Where the earlier marks lie on today's photo, dashed. They are no marks until you take them over. Look before "
        "you do.",
    ),
    *("Take over as my mark", "Accept as my mark", "Take over {name} as my mark", "Accept {name} as my mark"),
    *("Hint {number}: {what}", "Then {number}: {what}", "hint {number}", "then {number}", "Drawn here"),
    *("Nothing drawn here yet", "No marks on this photo yet", "Marks on this photo ({number})", " (say {lack})"),
    *(" (say {lack}; it is not kept before)", "{number} {what}", "{part}, {shape}"),
    # The photo.
    *("The photo could not be loaded. Reload the page; the marks are kept.",),
    *("The full photo could not be loaded. The small copy stays; marks are exact all the same.",),
    # Two photos of one part, one after the other.
    *("Show the other", "Stop", "Blink"),
)


def told(language: Language, names: tuple[str, ...] = ()) -> list[list[str]]:
    """Every phrase with its translation, and the names of what may be marked; nothing in the source language."""
    if language.is_source:
        return []
    return [*language.phrases(PHRASES), *([name, language.tell(name)] for name in names)]
