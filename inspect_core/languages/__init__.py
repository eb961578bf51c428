"""Languages: what the program says, told in the reader's language, with numbers and dates as that language writes them.

Records, signatures, JSON, exports and the use cases stay English; language is a matter of display only. Nothing is
marked in the code. `sources` finds every sentence that stands in it, the catalogues in `catalogues/` hold them with
their translations, and a text on its way to a reader is recognised again by `recognise`, also when it was recorded
years ago. What is not recognised stays as it is: words of people are never touched.
"""

from inspect_core.languages.language import ENGLISH, OFFERED, Language, language

__all__ = ["ENGLISH", "OFFERED", "Language", "language"]
