"""A file inside a PDF, for readers that are programs (ISO 32000-1, 7.11.4)."""

from __future__ import annotations

from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFString
from reportlab.pdfgen.canvas import Canvas


def attach(canvas: Canvas, name: str, content: bytes, media_type: str, description: str) -> None:
    """Put one file into the document that is being drawn. A second call takes the place of the first."""
    document: Any = canvas._doc
    held = PDFDictionary(
        {
            "Type": PDFName("EmbeddedFile"),
            "Subtype": PDFName(media_type.replace("/", "#2F")),
            "Params": PDFDictionary({"Size": len(content)}),
        }
    )
    file = document.Reference(PDFStream(dictionary=held, content=content))
    named = PDFDictionary(
        {
            "Type": PDFName("Filespec"),
            "F": PDFString(name),
            "UF": PDFString(name),
            "EF": PDFDictionary({"F": file, "UF": file}),
            "Desc": PDFString(description),
        }
    )
    files = PDFDictionary({"Names": PDFArray([PDFString(name), document.Reference(named)])})
    document.Catalog.Names = PDFDictionary({"EmbeddedFiles": files})
