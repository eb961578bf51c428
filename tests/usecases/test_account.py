"""Every record signs a head over everything before it, in its own transaction."""

from __future__ import annotations

from dataclasses import replace

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from inspect_core.domain.errors import Conflict, StoreFault
from inspect_core.ledger import canonical, content_of, node_place, root_by_path, signed_by
from inspect_core.ledger.merkle import inclusion_path, leaf_hash
from inspect_core.usecases.account import enter, seal
from inspect_core.usecases.heads import all_heads, newest_head
from inspect_core.usecases.register import RegisterItem, parse_item, register
from storage.engine import open_engine
from storage.unit_of_work import unit_of_work_factory
from tests.engines import stores
from tests.reference.test_merkle_vectors import by_the_book


class FixedSigner:
    """A key that every run of the tests has in common."""

    def __init__(self, seed: int = 7) -> None:
        self._key = Ed25519PrivateKey.from_private_bytes(bytes([seed]) * 32)

    def public_key(self) -> bytes:
        return self._key.public_key().public_bytes_raw()

    def sign(self, message: bytes) -> bytes:
        return self._key.sign(message)


def with_signer(services, tmp_path, signer):
    """The same store, signed with another key."""
    engine = open_engine(tmp_path / "store")
    return replace(services, unit_of_work=unit_of_work_factory(engine, lambda unit: seal(unit, signer)), signer=signer)


def contents(services) -> list[bytes]:
    with services.unit_of_work() as uow:
        return [canonical(content_of(entry)) for entry in uow.ledger.entries()]


def test_the_head_of_every_record_is_the_root_over_all_entries(site):
    for number in range(7):
        site.lanyard(f"LAN-{number}")
        head = newest_head(site.services)
        every = contents(site.services)
        assert head.size == len(every) and signed_by(head)
        assert head.root == by_the_book(every)
        assert head.public_key == site.services.signer.public_key()


def test_one_head_is_kept_for_each_day_and_the_newest(site):
    sizes = []
    for day in range(3):
        for number in range(3):
            site.lanyard(f"LAN-{day}{number}")
        sizes.append(newest_head(site.services).size)
        site.clock.move(days=1)
    assert [head.size for head in all_heads(site.services)] == sizes


def test_a_clock_that_was_set_back_still_leaves_the_newest_head_newest(site):
    site.clock.move(days=5)
    site.lanyard("LAN-1")
    site.clock.move(days=-5)
    site.lanyard("LAN-2")
    assert newest_head(site.services).size == len(contents(site.services))


def test_many_entries_of_one_transaction_get_one_head(site, tmp_path):
    signed = []

    class Counting(FixedSigner):
        def sign(self, message: bytes) -> bytes:
            signed.append(message)
            return super().sign(message)

    services = with_signer(site.services, tmp_path, Counting())
    with services.unit_of_work(write=True) as uow:
        for number in range(100):
            enter(uow, site.clock.now(), "sign-in", f"p{number}", {"person": f"p{number}"})
        uow.commit()
    assert len(signed) == 1
    assert newest_head(services).root == by_the_book(contents(services))


def test_what_is_not_committed_signs_nothing(site):
    before = newest_head(site.services)
    with site.services.unit_of_work(write=True) as uow:
        enter(uow, site.clock.now(), "sign-in", "p", {})
    assert newest_head(site.services) == before
    site.lanyard()
    twice = RegisterItem(parse_item({"tag": "LAN-001", "kind": "connector"}, "other"), site.worker)
    with pytest.raises(Conflict):
        register(twice, site.services)
    assert newest_head(site.services).size == before.size + 1


def test_a_record_that_cannot_be_signed_is_not_written(site, tmp_path):
    class Broken(FixedSigner):
        def sign(self, message: bytes) -> bytes:
            raise StoreFault("The signing key is gone.", "Put it back.")

    broken = with_signer(site.services, tmp_path, Broken())
    before = contents(site.services)
    site.services = broken
    with pytest.raises(StoreFault, match="signing key is gone"):
        site.lanyard("LAN-9")
    assert contents(site.services) == before
    with site.services.unit_of_work() as uow:
        assert uow.items.find_tag("LAN-9") is None


def test_another_key_is_entered_before_it_signs(site, tmp_path):
    site.lanyard("LAN-1")
    old = newest_head(site.services)
    site.services = with_signer(site.services, tmp_path, FixedSigner())
    site.lanyard("LAN-2")
    with site.services.unit_of_work() as uow:
        entry = uow.ledger.head()
    assert entry.subject == "signing key"
    assert entry.body == {"public_key": FixedSigner().public_key().hex(), "before": old.public_key.hex()}
    assert newest_head(site.services).size == entry.number


def test_any_entry_is_proved_out_of_the_nodes_that_the_store_keeps(site):
    for number in range(12):
        site.lanyard(f"LAN-{number}")
    head, every = newest_head(site.services), contents(site.services)
    with site.services.unit_of_work() as uow:

        def node(level: int, position: int) -> bytes:
            number, place = node_place(level, position)
            return uow.tree.nodes([number])[number][place]

        for position, content in enumerate(every):
            path = inclusion_path(position, head.size, node)
            assert root_by_path(leaf_hash(content), position, head.size, path) == head.root


def test_an_entry_holds_where_the_item_stands_and_what_is_known_of_its_photos(site):
    item = site.lanyard()
    site.record(site.cut(item, 3.0, inspection_id="cut-1"))
    with site.services.unit_of_work() as uow:
        (entry,) = uow.ledger.of_subject("inspection", "cut-1")
        (photo_id,) = uow.inspections.get("cut-1").photo_ids
    assert entry.body["standing"]["state"] == "withdrawn"
    (photo,) = entry.body["photo_records"]
    assert photo["id"] == photo_id and set(photo["copies"]) == {"preview", "thumb"}


def test_the_private_key_is_not_in_the_database(site, tmp_path):
    site.lanyard()
    secret = (tmp_path / "store" / "signing_key.pem").read_bytes().splitlines()[1]
    assert b"LAN-001" in stores.kept_by(tmp_path / "store")
    (tmp_path / "store" / "signing_key.pem").unlink()
    assert secret not in stores.kept_by(tmp_path / "store")
