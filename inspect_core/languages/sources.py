"""Finding the sentences that the program says to people: in its Python, its rule tables and its front ends.

Nothing is marked in the code. A sentence is a text with words in it that stands where a person will read it; an
f-string becomes a template with named places, `f"Unfinished work ({len(work)})"` gives `Unfinished work ({work})`. What
is a key, a name of a file, SQL or the like is left out by where it stands, and by the lists below.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass

from inspect_core.languages.fstrings import last_name, templates

#: Words that are no words: units and the like, the same in every language.
_NO_WORDS = {
    "mm",
    "mm2",
    "m",
    "kN",
    "kg",
    "N",
    "cm",
    "px",
    "dpi",
    "k",
    "Bartack",
    "PDF",
    "CSV",
    "SHA",
    "UTC",
    "id",
    "s",
}
#: Keyword arguments whose values are for the machine.
_MACHINE_ARGUMENTS = {
    *(
        "key",
        "mime",
        "icon",
        "type",
        "width",
        "file_name",
        "format",
        "color",
        "colour",
        "gap",
        "name",
        "mode",
        "encoding",
    ),
    *("vertical_alignment", "horizontal_alignment", "label_visibility", "layout", "shape", "kind_of", "errors", "sep"),
    *(
        "media_type",
        "newline",
        "method",
        "style",
        "align",
        "baseline",
        "fontWeight",
        "scheme",
        "interpolate",
        "prog_name",
    ),
    *(
        "initial_sidebar_state",
        "position",
        "visibility",
        "url_path",
        "timespec",
        "default_flow_style",
        "metavar",
        "envvar",
    ),
    *("aggregate", "field", "orient", "stack", "on_click", "dtype", "order_by", "ondelete", "server_default", "lang"),
}
#: Calls whose texts are for the machine, by the last name of what is called.
_MACHINE_CALLS = {
    *("widget", "compile", "getattr", "setattr", "hasattr", "environ", "get", "pop", "setdefault", "encode", "decode"),
    *(
        "exec_driver_sql",
        "Column",
        "Index",
        "ForeignKey",
        "TypeVar",
        "namedtuple",
        "getLogger",
        "debug",
        "info_log",
        "exception",
    ),
    *(
        "startswith",
        "endswith",
        "removeprefix",
        "removesuffix",
        "split",
        "rsplit",
        "strip",
        "lstrip",
        "rstrip",
        "replace",
    ),
    *("partition", "rpartition", "fullmatch", "match", "sub", "search", "findall", "finditer", "strftime", "strptime"),
    *("ValueError", "TypeError", "AssertionError", "KeyError", "RuntimeError", "NotImplementedError", "AttributeError"),
    *(
        "LookupError",
        "text",
        "import_module",
        "find",
        "rfind",
        "index",
        "count_of",
        "glob",
        "rglob",
        "with_name",
        "joinpath",
    ),
    *(
        "ContextVar",
        "Table",
        "translate",
        "maketrans",
        "HexColor",
        "setFont",
        "query",
        "query_id",
        "once",
        "used",
        "cast",
    ),
    *("setLineCap", "isinstance", "open", "Path", "Literal", "register_font", "session", "hash_of", "fromhex", "warn"),
    *(
        "CheckConstraint",
        "UniqueConstraint",
        "bindparam",
        "literal_column",
        "ParagraphStyle",
        "with_suffix",
        "with_stem",
    ),
}
#: Calls of these names say their texts to people although the name stands above, by what they belong to.
_SQL = re.compile(
    r"\b(SELECT|INSERT INTO|UPDATE \w+ SET|DELETE FROM|CREATE (TABLE|INDEX|VIRTUAL|TRIGGER)|WHERE|PRAGMA|ORDER BY)\b"
)
_MARKUP = re.compile(r"<[a-zA-Z/!][^>]*>")
#: Whole sentences that stand in places beside a sentence are told by themselves.
_ALONE_BEFORE = re.compile(r"^(?:\{\w+\} )+(?=[A-Z“])")
_ALONE_AFTER = re.compile(r"([.!?])(?: \{\w+\})+$")
#: Names under which the screens keep what they drew, and what a QR code holds: "kit {id}", "moves {id}".
_WIDGET = re.compile(
    r"^(?:kit|moves|certificates|readings|pictures|preview|full|task|correct|fall|take|move|give|register|used|search|hit"
    r"|agree|coming|life|rates|prevent|doubt|spent|trends|where|why|head|key|entry|ledger|bartack)"
    r"(?: \{\w+\})+(?: (?:start|then))?$"
    r"|^\{\w+\} (?:sent|start|then|today)$"
)
_FILE_NAME = re.compile(r"\.(?:pdf|png|svg|csv|jsonl?|ics|xlsx|zip|toml)$")
_WORD = re.compile(r"[A-Za-zÀ-ÿ][A-Za-zÀ-ÿ'’-]*")
_CODE = re.compile(
    r"^(?:[a-z0-9_./:|#@*-]+|[A-Z0-9_./:-]+|:material/\w+:|%[\w%: .-]+|#[0-9A-Fa-f]{6}|[\w.+-]+/[\w.+-]+|--[\w-]+)$"
)


@dataclass(frozen=True, slots=True)
class Message:
    """A sentence, with `plural` where it counts something (both with {number}), and where it stands."""

    text: str
    plural: str
    place: str


def python_messages(source: str, place: str, *, words: bool = False) -> Iterator[Message]:
    """The sentences of one Python file. `words`: single words count too, as in tables of the trade's words."""
    tree = ast.parse(source)
    finder = _Finder(place, words)
    finder.visit(tree)
    yield from finder.found


class _Finder(ast.NodeVisitor):
    def __init__(self, place: str, words: bool) -> None:
        self.place, self.words = place, words
        self.found: list[Message] = []
        self.enum = False

    # What is never read by people ---------------------------------------------------------------------------------

    def visit_Import(self, node: ast.Import) -> None: ...
    def visit_ImportFrom(self, node: ast.ImportFrom) -> None: ...

    def visit_Expr(self, node: ast.Expr) -> None:
        if not isinstance(node.value, ast.Constant):  # docstrings
            self.generic_visit(node)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_arg(self, node: ast.arg) -> None: ...  # annotations

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        for default in (*node.args.defaults, *filter(None, node.args.kw_defaults)):
            self.visit(default)
        for decorator in node.decorator_list:
            self.visit(decorator)
        for line in node.body:
            self.visit(line)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        before, self.enum = self.enum, any(last_name(base) in ("Enum", "StrEnum") for base in node.bases)
        for line in node.body:
            self.visit(line)
        self.enum = before

    def visit_Subscript(self, node: ast.Subscript) -> None:
        self.visit(node.value)
        if not isinstance(node.slice, ast.Constant):
            self.visit(node.slice)

    def visit_Compare(self, node: ast.Compare) -> None:
        for side in (node.left, *node.comparators):
            if not isinstance(side, ast.Constant | ast.Tuple | ast.Set | ast.List | ast.JoinedStr):
                self.visit(side)

    def visit_MatchValue(self, node: ast.MatchValue) -> None: ...

    def visit_Assign(self, node: ast.Assign) -> None:
        if any(last_name(target).startswith("__") for target in node.targets):
            return
        self.visit(node.value)

    def visit_Dict(self, node: ast.Dict) -> None:
        for key, value in zip(node.keys, node.values, strict=True):
            if isinstance(key, ast.Constant) and isinstance(key.value, str):
                if key.value[:1].isupper():  # a name to pick or the head of a column
                    self._text(key.value, key.lineno)
            elif key is not None:
                self.visit(key)
            self.visit(value)

    def visit_Call(self, node: ast.Call) -> None:
        name = last_name(node.func)
        if name == "count" and len(node.args) in (2, 3) and isinstance(node.args[1], ast.Constant):
            self._counted(node)
            return
        self.visit(node.func)
        if (name not in _MACHINE_CALLS or _is_shown(node)) and not _is_key(node.func):
            for argument in node.args:
                self.visit(argument)
        else:
            for argument in node.args:
                if not isinstance(argument, ast.Constant | ast.JoinedStr):
                    self.visit(argument)
        for keyword in node.keywords:
            if keyword.arg not in _MACHINE_ARGUMENTS or not isinstance(keyword.value, ast.Constant | ast.JoinedStr):
                self.visit(keyword.value)

    # What is --------------------------------------------------------------------------------------------------------

    def _counted(self, node: ast.Call) -> None:
        nouns = [str(a.value) for a in node.args[1:] if isinstance(a, ast.Constant)]
        one, several = nouns[0], nouns[1] if len(nouns) > 1 else nouns[0] + "s"
        self.found.append(Message(f"{{number}} {one}", f"{{number}} {several}", f"{self.place}:{node.lineno}"))
        self.visit(node.args[0])

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, str):
            self._text(node.value, node.lineno)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        for template in templates(node):
            self._text(template, node.lineno, template=True)
        for value in ast.walk(node):
            if isinstance(value, ast.FormattedValue) and not isinstance(value.value, ast.IfExp | ast.JoinedStr):
                self.visit(value.value)
            elif isinstance(value, ast.FormattedValue) and isinstance(value.value, ast.IfExp):
                for side in (value.value.body, value.value.orelse):
                    if not isinstance(side, ast.Constant | ast.JoinedStr):
                        self.visit(side)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        self.generic_visit(node)

    def _text(self, text: str, line: int, *, template: bool = False) -> None:
        if not template:
            text = text.replace("{", "{{").replace("}", "}}")
        if is_sentence(text, template=template, words=self.words or self.enum):
            self.found.extend(Message(piece, "", f"{self.place}:{line}") for piece in pieces(text))


def _is_shown(call: ast.Call) -> bool:
    """A paper's `text`, unlike SQLAlchemy's, and the choice of a split, unlike the one of a string."""
    if not isinstance(call.func, ast.Attribute):
        return False
    return call.func.attr == "text" or (call.func.attr == "split" and len(call.args) > 2)


def _is_key(function: ast.expr) -> bool:
    """What the screens keep under a name in their session, or time under one."""
    if not isinstance(function, ast.Attribute) or not isinstance(function.value, ast.Name):
        return isinstance(function, ast.Name) and function.id in ("_key", "key", "_widget", "_payload")
    return (function.value.id == "state" and function.attr != "tell") or function.attr == "key"


def pieces(text: str) -> Iterator[str]:
    """A text as the book holds it: without white space around, each paragraph of Markdown by itself."""
    for paragraph in re.split(r"\s*\n\s*", text.strip()):
        bare = _ALONE_BEFORE.sub("", _ALONE_AFTER.sub(r"\1", paragraph.strip()))
        if _WORD.search(re.sub(r"\{\w*\}", "", bare)):
            yield bare


def is_sentence(text: str, *, template: bool = False, words: bool = False) -> bool:
    """Whether a text has words that a person reads."""
    literal = re.sub(r"\{\w*\}", " ", text)
    bare = literal.strip()
    if _SQL.search(bare) or ("{{" in bare and ";" in bare):
        return False
    if _MARKUP.search(bare) and template:
        bare = _MARKUP.sub(" ", bare)
    found = [w for w in _WORD.findall(bare) if w not in _NO_WORDS and len(w) > 1]
    if not found or _FILE_NAME.search(bare) or '="' in bare or re.fullmatch(r"\S+[~-]\{\w+\}\S*", text.strip()):
        return False
    if template and _WIDGET.match(text):
        return False
    if template and re.search(r"(?:[A-Za-z] \{|\} [A-Za-z])", text):  # one word beside a place
        return True
    if _CODE.match(bare) and not (words and re.fullmatch(r"[A-Za-z-]+", bare)):
        return False
    if " " not in bare:
        return words or template or (bare[:1].isupper() and bare[1:].islower() and len(bare) > 2)
    return True
