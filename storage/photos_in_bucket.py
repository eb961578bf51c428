"""The photo store in an S3 bucket: write-once by `If-None-Match`, whole from the moment its original is there.

    PREFIX/3f/3fa9…/preview …     copies without metadata, written first
    PREFIX/3f/3fa9…/original      the bytes as they came, written last: a photo without it does not exist

A bucket is configured by one address, `s3://BUCKET/PREFIX?endpoint=https://…&region=…`; the keys come from the
environment (AWS_ACCESS_KEY_ID, AWS_SECRET_ACCESS_KEY, AWS_SESSION_TOKEN) and never stand in an address.
"""

from __future__ import annotations

import os
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlsplit

from inspect_core.domain.errors import BadInput, NotFound, StoreFault
from storage.photo_names import ORIGINAL, check_copy, check_named, is_id, unchanged, unknown

if TYPE_CHECKING:
    from obstore.store import S3Store

#: Longest life of a link to a copy; long enough to look at a page, short enough that a passed-on link dies.
_LONGEST_LINK = timedelta(hours=1)
_OPTIONS = frozenset({"endpoint", "region"})


class PhotosInBucket:
    """Fulfils PhotoStore on the bucket behind `bucket`."""

    def __init__(self, bucket: S3Store) -> None:
        self._bucket = bucket

    def put(self, photo_id: str, original: bytes, copies: Mapping[str, bytes]) -> bool:
        """Store an original with its copies. True when it was new, False when it was there already; copies that
        were still missing are added then. Durable when this returns. Raises BadInput where the name is not the
        SHA-256 of the bytes, StoreFault when it cannot be written or the stored one is damaged."""
        check_named(photo_id, original, copies)
        for name, content in copies.items():
            self._create(_key(photo_id, name), content)
        new = self._create(_key(photo_id, ORIGINAL), original)
        if not new:
            self.original(photo_id)  # a damaged original must not pass for a stored one
        return new

    def original(self, photo_id: str) -> bytes:
        """The stored bytes. Raises NotFound, or StoreFault when they no longer match their name."""
        return unchanged(photo_id, self._read(photo_id, ORIGINAL))

    def copy(self, photo_id: str, name: str) -> bytes:
        """A derived copy by name. Raises NotFound."""
        check_copy(name)
        return self._read(photo_id, name)

    def has(self, photo_id: str) -> bool:
        if not is_id(photo_id):
            return False
        try:
            with _bucket_faults():
                self._bucket.head(_key(photo_id, ORIGINAL))
        except NotFound:
            return False
        return True

    def ids(self) -> Iterator[str]:
        """Every stored photo, in the order of their SHA-256."""
        with _bucket_faults():
            for batch in self._bucket.list():
                for entry in batch:
                    *_, photo_id, name = ("", "", *entry["path"].split("/"))
                    if name == ORIGINAL and is_id(photo_id):
                        yield photo_id

    def link(self, photo_id: str, name: str, *, lasts: timedelta = timedelta(minutes=10)) -> str:
        """An address from which anybody who has it may load one copy until it runs out, at most an hour. There is
        none for an original. Raises NotFound."""
        check_copy(name)
        if not is_id(photo_id):
            raise unknown()
        import obstore

        with _bucket_faults():
            return obstore.sign(self._bucket, "GET", _key(photo_id, name), expires_in=min(lasts, _LONGEST_LINK))

    def check_write_once(self) -> None:
        """Proves that this server refuses a second write under one name; some accept the request's condition and
        overwrite all the same. Raises StoreFault where originals would not be safe."""
        key = f"probe/{uuid.uuid4().hex}"
        try:
            refused = self._create(key, b"first") and not self._create(key, b"second")
            with _bucket_faults():
                kept = bytes(self._bucket.get(key).bytes()) == b"first"
        finally:
            with _bucket_faults():
                self._bucket.delete(key)
        if not (refused and kept):
            raise StoreFault(
                "This bucket writes over what is stored: photos would not be safe in it.",
                "Use a server that honours If-None-Match, or keep the photos on disk.",
            )

    def _create(self, key: str, content: bytes) -> bool:
        """True when written, False when the key was taken."""
        from obstore.exceptions import AlreadyExistsError, PreconditionError

        with _bucket_faults():
            try:
                self._bucket.put(key, content, mode="create", use_multipart=False)
            except (AlreadyExistsError, PreconditionError):
                return False
        return True

    def _read(self, photo_id: str, name: str) -> bytes:
        if not is_id(photo_id):
            raise unknown()
        with _bucket_faults():
            return bytes(self._bucket.get(_key(photo_id, name)).bytes())


def open_bucket(address: str) -> PhotosInBucket:
    """The store behind `s3://BUCKET/PREFIX?endpoint=…&region=…`, proved to be write-once. Plain http is taken for a
    server on this machine only. Raises BadInput for an address that is none, StoreFault where it cannot be used."""
    from obstore.store import S3Store

    parts = urlsplit(address)
    asked = parse_qs(parts.query)
    if parts.scheme != "s3" or not parts.hostname or parts.username or parts.password or not set(asked) <= _OPTIONS:
        raise BadInput(
            "This is no address of a bucket.",
            "Write s3://BUCKET/PREFIX?endpoint=https://…&region=…; put the keys into the environment.",
        )
    endpoint = asked.get("endpoint", [None])[0]
    plain = endpoint is not None and urlsplit(endpoint).scheme != "https"
    if plain and urlsplit(endpoint or "").hostname not in ("127.0.0.1", "localhost", "::1"):
        raise BadInput("Photos would travel unprotected.", "Use an https address for the bucket's server.")
    photos = PhotosInBucket(
        S3Store(
            parts.hostname,
            prefix=parts.path.strip("/") or None,
            endpoint=endpoint,
            region=asked.get("region", [os.environ.get("AWS_REGION", "us-east-1")])[0],
            virtual_hosted_style_request=False,
            client_options={"allow_http": plain, "timeout": "30s", "connect_timeout": "5s"},
            retry_config={"max_retries": 3, "retry_timeout": timedelta(seconds=20)},
        )
    )
    photos.check_write_once()
    return photos


def _key(photo_id: str, name: str) -> str:
    return f"{photo_id[:2]}/{photo_id}/{name}"


@contextmanager
def _bucket_faults() -> Iterator[None]:
    """Says in the store's own words what the bucket refused."""
    from obstore import exceptions

    try:
        yield
    except (exceptions.AlreadyExistsError, exceptions.PreconditionError):
        raise
    except (FileNotFoundError, exceptions.NotFoundError):
        raise unknown() from None
    except (exceptions.PermissionDeniedError, exceptions.UnauthenticatedError) as fault:
        raise StoreFault(
            "The photo bucket refused the keys of this program.", "Ask whoever runs the server to check its keys."
        ) from fault
    except exceptions.BaseError as fault:
        raise StoreFault(
            "The photo bucket could not do what was asked; nothing was recorded.",
            "Try again in a minute; if it lasts, ask whoever runs the server whether the bucket is there and has room.",
        ) from fault
