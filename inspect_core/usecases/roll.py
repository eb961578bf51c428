"""A camera roll dropped in at once: read photo by photo, sorted to items, reviewed, and turned into drafts.

Every photo is kept as soon as it is read, so a browser that closes mid-way loses nothing: the same photos dropped in
again go on where it stopped.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from inspect_core.domain.access import Action
from inspect_core.domain.custody import State
from inspect_core.domain.errors import BadInput, BartackError, NotFound
from inspect_core.domain.gear import Item, clean_tag
from inspect_core.domain.inspection import InspectionType
from inspect_core.domain.record import Draft
from inspect_core.domain.roll import Roll, RollPhoto
from inspect_core.imaging.files import take_in, upright_rgb
from inspect_core.imaging.header import read_header
from inspect_core.imaging.honesty import HashIndex, codes_in
from inspect_core.imaging.qr import sorted_codes
from inspect_core.ports import UnitOfWork
from inspect_core.usecases.acting import acting, somebody
from inspect_core.usecases.inspect import MOST_PHOTOS
from inspect_core.usecases.intake import take_photo
from inspect_core.usecases.roll_plan import Placed, RollPlan, plan_roll
from inspect_core.usecases.services import Services

#: One roll is one day's work; more photos at once are no such roll.
MOST_IN_ROLL = 2000


@dataclass(frozen=True, slots=True)
class Started:
    """A draft that was begun for one group."""

    draft_id: str
    tag: str
    photos: int


@dataclass(frozen=True, slots=True)
class Refused:
    """A group for which none could be begun, and why."""

    tag: str
    reason: str


def begin_roll(by: str, services: Services, *, roll_id: str | None = None) -> Roll:
    """Begin a roll, or give back the one of that id."""
    with services.unit_of_work(write=True) as uow:
        acting(uow, services, by, Action.ADD_PHOTOS)
        if roll_id is not None:
            try:
                return uow.rolls.get(roll_id)
            except NotFound:
                pass
        roll = Roll(roll_id or services.new_id(), services.clock.now(), by)
        uow.rolls.add(roll)
        uow.commit()
    return roll


def look_at(data: bytes, name: str) -> RollPhoto:
    """What a roll needs to know of one photo; stores nothing. Raises BadPhoto."""
    taken = take_in(data, claimed_name=name)
    labels = sorted_codes(codes_in(upright_rgb(data)))
    return RollPhoto(
        taken.sha256,
        _plain_name(name),
        taken.captured_at,
        taken.phash,
        labels.tags,
        labels.others,
        camera=taken.camera,
    )


def read_photo(roll_id: str, data: bytes, name: str, services: Services) -> bool:
    """Take one photo into the store and into the roll. False where the roll holds it already. Raises BadPhoto with
    nothing stored, StoreFault, NotFound."""
    photo = take_photo(data, services, claimed_name=name)
    with services.unit_of_work() as uow:
        held = uow.rolls.photos(roll_id)
    if any(one.photo_id == photo.id for one in held):
        return False
    if len(held) >= MOST_IN_ROLL:
        raise BadInput(f"More than {MOST_IN_ROLL} photos in one roll.", "Begin another roll for the rest.")
    labels = sorted_codes(codes_in(upright_rgb(data)))
    read = RollPhoto(
        photo.id,
        _plain_name(name),
        photo.captured_at,
        photo.phash,
        labels.tags,
        labels.others,
        camera=read_header(data).camera,
    )
    with services.unit_of_work(write=True) as uow:
        somebody(uow, services)  # reading takes its time; the sign-in may have ended since
        fresh = uow.rolls.add_photo(roll_id, read)
        uow.commit()
    return fresh


def sort_roll(roll_id: str, services: Services) -> RollPlan:
    """The plan of a stored roll. Raises NotFound."""
    with services.unit_of_work() as uow:
        photos = uow.rolls.photos(roll_id)
        taken = uow.rolls.elsewhere(roll_id, [photo.photo_id for photo in photos])
        return _plan(photos, uow, taken)


def sort_photos(photos: Sequence[RollPhoto], services: Services) -> RollPlan:
    """The plan of photos that were only looked at."""
    with services.unit_of_work() as uow:
        return _plan(photos, uow, frozenset())


def unfinished_rolls(services: Services, *, limit: int = 10) -> tuple[tuple[Roll, int], ...]:
    """Rolls with photos still to be placed or turned into drafts, newest first, with their number of photos."""
    with services.unit_of_work() as uow:
        return uow.rolls.unfinished(limit)


def move_photos(roll_id: str, photo_ids: Iterable[str], tag: str, services: Services) -> Item:
    """Put photos with the item that carries the tag. Raises NotFound where none does."""
    with services.unit_of_work(write=True) as uow:
        somebody(uow, services)
        item = uow.items.find_tag(clean_tag(tag))
        if item is None:
            raise NotFound(f"No item carries the tag {clean_tag(tag)}.", "Check the tag, or register the item first.")
        for photo in _chosen(uow, roll_id, photo_ids):
            uow.rolls.change_photo(roll_id, replace(photo, item_id=item.id, left_out=False))
        uow.commit()
    return item


def sort_by_phone(roll_id: str, services: Services) -> int:
    """A person says that each phone photographed label first, then parts, by itself: photos that waited for that go
    to the item of their own phone's last label. Returns how many."""
    waiting = [one for one in sort_roll(roll_id, services).open if one.own_phone]
    with services.unit_of_work(write=True) as uow:
        somebody(uow, services)
        for one in waiting:
            item = uow.items.find_tag(one.own_phone or "")
            if item is not None:
                uow.rolls.change_photo(roll_id, replace(one.photo, item_id=item.id, left_out=False))
        uow.commit()
    return len(waiting)


def leave_out(roll_id: str, photo_ids: Iterable[str], services: Services, *, out: bool = True) -> None:
    """Take photos out of the sorting, or back in; the originals stay in the store either way."""
    with services.unit_of_work(write=True) as uow:
        somebody(uow, services)
        for photo in _chosen(uow, roll_id, photo_ids):
            uow.rolls.change_photo(roll_id, replace(photo, left_out=out, item_id=None if out else photo.item_id))
        uow.commit()


def close_roll(roll_id: str, services: Services) -> None:
    """Put a roll away; its photos stay in the store."""
    with services.unit_of_work(write=True) as uow:
        somebody(uow, services)
        uow.rolls.set_done(roll_id, True)
        uow.commit()


def start_drafts(
    roll_id: str, tags: Sequence[str], type_: InspectionType, by: str, services: Services
) -> tuple[tuple[Started, ...], tuple[Refused, ...]]:
    """Begin an unfinished inspection for each of these groups, with its photos in place; all in one transaction.

    A photo goes into one draft only, so pressing twice begins nothing twice. Groups that cannot be begun are told.
    """
    plan = sort_roll(roll_id, services)
    started: list[Started] = []
    refused: list[Refused] = []
    with services.unit_of_work(write=True) as uow:
        action = Action.CHECK if type_ is InspectionType.BEFORE_USE else Action.INSPECT
        acting(uow, services, by, action, to_sign=False)
        fresh = {photo.photo_id: photo for photo in uow.rolls.photos(roll_id) if photo.draft_id is None}
        for tag in dict.fromkeys(tags):
            photos = [fresh[one.photo.photo_id] for one in plan.groups.get(tag, ()) if one.photo.photo_id in fresh]
            if not photos:
                continue
            reason = _refusal(tag, photos, uow)
            if reason:
                refused.append(Refused(tag, reason))
                continue
            started.append(_draft(roll_id, tag, photos, type_, uow, services))
        if _all_done(roll_id, plan, uow):
            uow.rolls.set_done(roll_id, True)
        uow.commit()
    return tuple(started), tuple(refused)


def _draft(
    roll_id: str, tag: str, photos: Sequence[RollPhoto], type_: InspectionType, uow: UnitOfWork, services: Services
) -> Started:
    item = uow.items.find_tag(tag)
    assert item is not None  # noqa: S101 - `_refusal` has looked
    ids = [photo.photo_id for photo in photos]
    draft = Draft(
        services.new_id(), item.id, {"type": type_.value, "photos": ids, "photo": ids[0]}, services.clock.now()
    )
    uow.drafts.save(draft)
    for photo in photos:
        uow.rolls.change_photo(roll_id, replace(photo, draft_id=draft.id))
    return Started(draft.id, tag, len(ids))


def _refusal(tag: str, photos: Sequence[RollPhoto], uow: UnitOfWork) -> str:
    item = uow.items.find_tag(tag)
    if item is None:
        return f"No item carries the tag {tag}."
    state = uow.items.standing(item.id).state
    if state in (State.WITHDRAWN, State.DESTROYED):
        return f"{tag} is {state.value}; there is nothing to inspect."
    if len(photos) > MOST_PHOTOS:
        return f"{tag} has {len(photos)} photos; one inspection takes {MOST_PHOTOS}. Leave some out."
    return ""


def _all_done(roll_id: str, plan: RollPlan, uow: UnitOfWork) -> bool:
    waiting = {one.photo.photo_id for one in plan.open}
    waiting |= {one.photo.photo_id for group in plan.groups.values() for one in group}
    return not any(p.draft_id is None and p.photo_id in waiting for p in uow.rolls.photos(roll_id))


def _chosen(uow: UnitOfWork, roll_id: str, photo_ids: Iterable[str]) -> list[RollPhoto]:
    wanted = set(photo_ids)
    found = [photo for photo in uow.rolls.photos(roll_id) if photo.photo_id in wanted]
    if any(photo.draft_id for photo in found):
        raise BadInput("A photo of these lies in an unfinished inspection already.", "Change it there.")
    return found


def _plan(photos: Sequence[RollPhoto], uow: UnitOfWork, taken: frozenset[str]) -> RollPlan:
    known = _known(photos, uow)
    own = {photo.photo_id for photo in photos}
    stored = HashIndex({name: phash for name, phash in uow.photos.hashes() if name not in own})
    used = dict.fromkeys(taken, "Another roll has put this very file into an unfinished inspection.")
    for photo in photos:
        # What this roll itself made of it is no second use.
        if photo.draft_id is None and (words := _use(photo.photo_id, uow)):
            used[photo.photo_id] = f"This very file was used before. {words}"

    def near(photo: RollPhoto) -> str:
        for other, _ in stored.near(photo.phash):
            if words := _use(other, uow):
                return f"A stored photo looks nearly the same. {words}"
        return ""

    return plan_roll(photos, known, used=used, near=near)


def _known(photos: Sequence[RollPhoto], uow: UnitOfWork) -> Mapping[str, str]:
    """Tag → item id for every tag that a code in the roll could mean, and every item a photo was moved to. A label may
    still show a tag that the item carried before; the present tag of an item stands last."""
    known: dict[str, str] = {}
    now: dict[str, str] = {}
    for text in dict.fromkeys(text for photo in photos for text in (*photo.tags, *photo.codes)):
        try:
            tag = clean_tag(text)
            item = uow.items.find_tag(tag)
        except BartackError:
            continue
        if item is not None:
            now[item.tag] = item.id
            if tag != item.tag:
                known[tag] = item.id
    for item_id in {photo.item_id for photo in photos if photo.item_id}:
        now[uow.items.get(item_id).tag] = item_id
    return known | now


def _use(photo_id: str, uow: UnitOfWork) -> str:
    for item_id, inspection_id in uow.photos.uses(photo_id):
        day = uow.inspections.get(inspection_id).at
        return f"It belongs to {uow.items.get(item_id).tag}, inspection of {day:%Y-%m-%d}."
    return ""


def _plain_name(name: str) -> str:
    """A file's own name, without folders, cut to a sane length."""
    return name.replace("\\", "/").rsplit("/", 1)[-1][:120]


def plan_plain(plan: RollPlan) -> dict[str, object]:
    """A plan as plain data, for the command line."""

    def one(placed: Placed) -> dict[str, object]:
        photo = placed.photo
        return {
            "number": placed.number,
            "name": photo.name,
            "photo": photo.photo_id,
            "taken": photo.captured_at.isoformat() if photo.captured_at else None,
            "label": placed.is_label,
            "doubts": [doubt.sentence for doubt in placed.doubts],
        }

    return {
        "order": plan.order,
        "phones": plan.phones,
        "groups": [{"tag": tag, "photos": [one(p) for p in group]} for tag, group in plan.groups.items()],
        "not_placed": [one(p) for p in plan.open],
        "left_out": [one(p) for p in plan.out],
    }
