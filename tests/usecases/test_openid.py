"""Claims of an identity token → a person with a role. Claims as in OpenID Connect Core 1.0, sections 5.1 and 5.7."""

from dataclasses import replace

import pytest

from inspect_core.domain.credentials import Actor
from inspect_core.domain.custody import Move
from inspect_core.domain.errors import BadInput, NotAllowed
from inspect_core.domain.people import Role
from inspect_core.usecases.custody import MakeMove, make_move
from inspect_core.usecases.openid import claimed, over, rules_from, sign_in_by_claims
from inspect_core.usecases.register import add_person
from inspect_core.usecases.sign_in import choose_pin, signed_in
from inspect_core.usecases.verify import verify
from tests.usecases.locked import CHEAP

CLAIMS = {
    "is_logged_in": True,
    "iss": "https://sign-in.example",
    "sub": "248289761001",
    "name": "Jo Roof",
    "email": "jo@site.example",
    "email_verified": True,
    "groups": ["roof", "inspectors"],
}
RULES = rules_from(
    {
        "role_claim": "groups",
        "roles": {"roof": "worker", "inspectors": "competent person"},
        "people": {"Chief@site.example": "administrator", "77": "manager"},
    }
)


def test_a_claim_gives_the_highest_role_that_fits():
    assert claimed(CLAIMS, RULES).role is Role.COMPETENT_PERSON
    assert claimed(CLAIMS | {"groups": "roof"}, RULES).role is Role.WORKER


@pytest.mark.parametrize(
    ("changes", "role"),
    [
        ({"email": "chief@SITE.example"}, Role.ADMINISTRATOR),
        ({"email": "chief@site.example", "email_verified": "true"}, Role.ADMINISTRATOR),
        *(
            ({"email": "chief@site.example", "email_verified": said}, Role.COMPETENT_PERSON)
            for said in (False, None, "false", "True ", "", 0, 1, [True])
        ),
        ({"sub": "77", "groups": []}, Role.MANAGER),
        ({"groups": ["visitors"]}, None),
        ({"groups": None}, None),
        ({"groups": {"roof": 1}}, None),
    ],
)
def test_a_listed_address_counts_before_the_claim_and_only_where_it_is_verified(changes, role):
    assert claimed(CLAIMS | changes, RULES).role is role


def test_an_address_of_which_the_provider_says_nothing_makes_nobody_anything():
    silent = {key: value for key, value in CLAIMS.items() if key not in ("email_verified", "groups")}
    assert claimed(silent | {"email": "chief@site.example"}, RULES).role is None
    assert claimed(silent | {"email": "chief@site.example", "sub": "77"}, RULES).role is Role.MANAGER


def test_the_id_comes_from_issuer_and_subject_and_never_from_the_name():
    one = claimed(CLAIMS, RULES)
    assert claimed(CLAIMS | {"name": "Another", "email": "x@y.example"}, RULES).person_id == one.person_id
    assert claimed(CLAIMS | {"iss": "https://elsewhere.example"}, RULES).person_id != one.person_id
    assert len(one.person_id) == 32
    assert claimed({"sub": "5"}, RULES).name == "5"
    with pytest.raises(BadInput, match="without a subject"):
        claimed({"name": "Jo"}, RULES)


@pytest.mark.parametrize(
    ("settings", "said"),
    [({"roles": {"roof": "boss"}}, "“boss” is no role"), ({"people": ["a"]}, "is no table")],
)
def test_rules_that_cannot_be_read_are_refused_with_the_key(settings, said):
    with pytest.raises(BadInput, match=said):
        rules_from(settings)


def test_half_a_character_in_a_claim_is_no_fault(server):
    claims = CLAIMS | {"sub": "47\ud83d11", "name": "Jo\ud83d Roof\x1b[2J", "iss": "\udfff"}
    signed = sign_in_by_claims(claims, RULES, server)
    assert signed.person.name == "Jo Roof[2J"
    assert signed.person.id != claimed(claims | {"sub": "47?11"}, RULES).person_id


def test_a_token_counts_until_it_runs_out(site):
    now = site.clock.now()
    assert not over(CLAIMS, now)
    assert not over(CLAIMS | {"exp": now.timestamp() + 1}, now)
    assert over(CLAIMS | {"exp": int(now.timestamp())}, now)


def test_without_rules_nobody_has_a_role():
    assert claimed(CLAIMS, rules_from(None)).role is None


@pytest.fixture
def server(site):
    return replace(site.services, hasher=CHEAP, must_sign_in=True)


def test_somebody_known_signs_in_and_acts_and_somebody_unknown_may_only_read(site, server):
    item = site.lanyard()
    assert sign_in_by_claims(CLAIMS | {"groups": []}, RULES, server) is None
    signed = sign_in_by_claims(CLAIMS, RULES, server)
    mine = replace(server, actor=signed.actor)
    assert signed_in(mine).name == "Jo Roof"
    hold = MakeMove("m", item.id, Move.HOLD, signed.person.id, "looked odd")
    for stranger in (server, replace(server, actor=Actor(signed.person.id, "made up"))):
        with pytest.raises(NotAllowed, match=r"Nobody is signed in|sign-in is over"):
            make_move(hold, stranger)
    make_move(hold, mine)
    assert verify(site.services).faults == ()


def test_signing_takes_a_pin_of_ones_own_also_with_the_servers_sign_in(site, server):
    item = site.lanyard()
    signed = sign_in_by_claims(CLAIMS, RULES, server)
    mine = replace(server, actor=signed.actor)
    gone = MakeMove("m", item.id, Move.WITHDRAW, signed.person.id, "worn out", pin="739164")
    with pytest.raises(NotAllowed, match="no PIN to sign with yet"):
        make_move(gone, mine)
    choose_pin(signed.person.id, None, "739164", mine)
    assert make_move(gone, mine)


def test_a_second_sign_in_finds_the_same_person_and_takes_over_a_changed_role(server):
    first = sign_in_by_claims(CLAIMS, RULES, server).person
    again = sign_in_by_claims(CLAIMS | {"groups": ["roof"]}, RULES, server).person
    assert (again.id, again.role) == (first.id, Role.WORKER)


def test_two_people_of_one_name_stay_two_and_one_who_left_stays_out(site, server):
    first = sign_in_by_claims(CLAIMS, RULES, server).person
    other = sign_in_by_claims(CLAIMS | {"sub": "2"}, RULES, server).person
    assert other.id != first.id and other.name.startswith("Jo Roof (")
    chief = sign_in_by_claims(CLAIMS | {"email": "chief@site.example", "sub": "3", "name": "Chief"}, RULES, server)
    add_person(replace(first, active=False), replace(server, actor=chief.actor), by=chief.person.id)
    assert sign_in_by_claims(CLAIMS, RULES, server) is None
