"""Papers against what any program must spend on them: bare reportlab with the same pages and pictures."""

from __future__ import annotations

import io
from dataclasses import replace

import cv2
import numpy as np
from reportlab import rl_config
from reportlab.lib.pagesizes import A4
from reportlab.pdfgen.canvas import Canvas

from inspect_core.domain.decision import Decision, Outcome
from inspect_core.imaging.draw import draw_marks
from inspect_core.reports.certificate import CertificateData, certificate
from inspect_core.reports.pictures import Picture
from inspect_core.usecases.certificate import certificate_data
from tests.bench.pages import services_of
from tests.bench.registry import Job, bench, sizes
from tests.bench.storage import replay, sent_by
from tests.bench.store_of_size import store_of
from tests.reports import records
from tests.reports.reading import reader

_SIZE = (4000, 3000)


def _ten_pages() -> tuple[CertificateData, dict[str, bytes]]:
    """A certificate of ten pages with twelve photos, all of them marked."""
    ids = tuple(f"{n:064x}" for n in range(12))
    marks = tuple(replace(records.MARKS[n % 2], id=f"m{n}", photo_id=name) for n, name in enumerate(ids))
    findings = tuple(replace(records.CUT, rule=f"rule-{n}", mark=f"m{n % 12}") for n in range(14))
    decision = Decision(Outcome.WITHDRAW, 3.62, findings, records.STAMP)
    of = records.inspection(photo_ids=ids, marks=marks, decision=decision)
    return records.data(of), {name: records.preview(seed=n) for n, name in enumerate(ids)}


def _bare(pictures: list[bytes], pages: int) -> bytes:
    """The least that reportlab can do: the finished pictures and two thousand letters a page."""
    rl_config.useA85 = 0
    target = io.BytesIO()
    canvas = Canvas(target, pagesize=A4, invariant=1)
    for page in range(pages):
        for line in range(25):
            canvas.drawString(50, 780 - 12 * line, f"A line of some eighty letters, as a certificate has them: {line}")
        for place, picture in enumerate(pictures[page * len(pictures) // pages : (page + 1) * len(pictures) // pages]):
            # As ours: reportlab's own reader would decode each picture only to name it.
            Picture(picture, 240, 180).drawOn(canvas, 50, 60 + 200 * place)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


@bench("certificate of 10 pages, 12 marked photos: bare reportlab")
def certificate_against_reportlab() -> Job:
    data, previews = _ten_pages()
    pages = len(reader(certificate(data, previews)).pages)
    finished = [draw_marks(jpeg, (), size=_SIZE) for jpeg in previews.values()]
    return Job(
        ours=lambda: certificate(data, previews),
        floor=lambda: _bare(finished, pages),
        note=f"{pages} pages; the floor draws no mark, decodes no photo and wraps no text",
    )


@bench("certificate of 10 pages, 12 marked photos: with the pictures' own work")
def certificate_against_parts() -> Job:
    data, previews = _ten_pages()
    pages = len(reader(certificate(data, previews)).pages)

    def floor() -> None:
        pictures = []
        for jpeg in previews.values():
            decoded = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
            done, encoded = cv2.imencode(".jpg", decoded, [cv2.IMWRITE_JPEG_QUALITY, 88])
            assert done
            pictures.append(bytes(encoded))
        _bare(pictures, pages)

    return Job(
        ours=lambda: certificate(data, previews),
        floor=floor,
        target_ratio=2.0,
        note="the floor opens and writes each photo once, draws nothing on it and wraps no text",
    )


@bench("marks drawn on one preview of 1600 px")
def drawn_marks() -> Job:
    jpeg = records.preview()

    def floor() -> object:
        decoded = cv2.imdecode(np.frombuffer(jpeg, np.uint8), cv2.IMREAD_COLOR)
        return cv2.imencode(".jpg", decoded, [cv2.IMWRITE_JPEG_QUALITY, 88])

    return Job(
        ours=lambda: draw_marks(jpeg, records.MARKS, size=_SIZE),
        floor=floor,
        rounds=21,
        target_ratio=2.0,
        note="the floor decodes and encodes the preview",
    )


def _printed(size: int) -> Job:
    """What a certificate prints, read from the store, for one of the three photos' inspections of an item."""
    services = services_of(size)
    number = 3 * (size // 6)
    sent = sent_by(store_of(size), lambda: certificate_data(f"inspection-{number}", services))
    return Job(
        lambda: certificate_data(f"inspection-{number}", services),
        lambda: replay(store_of(size), [one for one in sent if one[0] != "BEGIN"], "SELECT 1"),
        rounds=40,
        note=f"{len(sent) - 1} statements",
    )


for _size in sizes():
    bench(f"store of {_size:,}: what a certificate prints")(lambda _size=_size: _printed(_size))  # type: ignore[misc]
