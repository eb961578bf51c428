"""Sign-in by the server's OpenID Connect provider: which claims make which person, with which role."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from inspect_core.domain.credentials import Method
from inspect_core.domain.errors import BadInput
from inspect_core.domain.people import Person, Role
from inspect_core.domain.typed import one_line
from inspect_core.usecases import account
from inspect_core.usecases.plain import person_entry
from inspect_core.usecases.services import Services
from inspect_core.usecases.sign_in import SignedIn, start

#: From the least to the most; where several fit, the last one counts.
_ORDER = (Role.WORKER, Role.COMPETENT_PERSON, Role.MANAGER, Role.ADMINISTRATOR)


@dataclass(frozen=True, slots=True)
class RoleRules:
    """How a role is found: by a claim whose values stand for roles, or by a list of mail addresses or subjects.

    `claim`: name of the claim, "" for none. `values`: value of the claim → role. `people`: address or subject → role,
    which counts before the claim.
    """

    claim: str = ""
    values: Mapping[str, Role] = field(default_factory=dict)
    people: Mapping[str, Role] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Claimed:
    """What the claims come to. `role` None: known to the provider, unknown here, may only read."""

    person_id: str
    name: str
    role: Role | None


def rules_from(settings: object) -> RoleRules:
    """The rules in the [bartack] part of the server's secrets. Raises BadInput naming the key at fault.

    {"role_claim": "groups", "roles": {"roof-inspectors": "competent person"}, "people": {"a@site": "administrator"}}
    """
    given = settings if isinstance(settings, Mapping) else {}
    return RoleRules(
        str(given.get("role_claim", "")), _roles(given.get("roles"), "roles"), _roles(given.get("people"), "people")
    )


def _roles(table: object, name: str) -> dict[str, Role]:
    if table is None:
        return {}
    if not isinstance(table, Mapping):
        raise BadInput(f"“{name}” in the server's secrets is no table.", "Write it as docs/sign_in.md shows.")
    found = {}
    for key, value in table.items():
        try:
            found[str(key).casefold()] = Role(str(value))
        except ValueError:
            words = ", ".join(role.value for role in Role)
            raise BadInput(f"{name}.{key}: “{value}” is no role.", f"Use one of: {words}.") from None
    return found


def claimed(claims: Mapping[str, Any], rules: RoleRules) -> Claimed:
    """The person that an identity token speaks of. Pure.

    Issuer and subject together make the id, since they alone never change hands (OpenID Connect Core 1.0, section 5.7).
    A mail address counts only where the provider says that it verified it (section 5.1: “email_verified”); where it
    says nothing, anybody could have typed it. Raises BadInput for a token without subject.
    """
    subject, issuer = claims.get("sub"), claims.get("iss", "")
    if not isinstance(subject, str) or not subject:
        raise BadInput("The sign-in came without a subject.", "Ask whoever runs the sign-in server.")
    person_id = hashlib.sha256(f"{issuer}\n{subject}".encode("utf-8", "surrogatepass")).hexdigest()[:32]
    mail = claims.get("email") if _verified(claims.get("email_verified")) else None
    mail = mail if isinstance(mail, str) else ""
    name = next(
        (text for key in ("name", "preferred_username") if isinstance(text := claims.get(key), str) and text.strip()),
        mail or subject,
    )
    listed = [rules.people[key.casefold()] for key in (mail, subject) if key and key.casefold() in rules.people]
    said = claims.get(rules.claim) if rules.claim else None
    values = [said] if isinstance(said, str) else said if isinstance(said, list | tuple) else []
    by_claim = [rules.values[str(value).casefold()] for value in values if str(value).casefold() in rules.values]
    fitting = listed[:1] or by_claim
    shown = one_line(name)[:80].strip() or person_id[:12]
    return Claimed(person_id, shown, max(fitting, key=_ORDER.index) if fitting else None)


def _verified(said: object) -> bool:
    """Whether the provider says so; some write the JSON value as text."""
    return said is True or said == "true"


def over(claims: Mapping[str, Any], now: datetime) -> bool:
    """Whether the token has run out ("exp", seconds since 1970); the page server keeps it in a cookie far longer."""
    ends = claims.get("exp")
    return isinstance(ends, int | float) and not now.timestamp() < ends


def sign_in_by_claims(claims: Mapping[str, Any], rules: RoleRules, services: Services) -> SignedIn | None:
    """Sign in whom the provider vouches for, entering or bringing up to date the person; None for somebody without a
    role here, or whom a manager has made inactive. The end of a qualification is entered under People, never taken
    from a claim."""
    who = claimed(claims, rules)
    if who.role is None:
        return None
    now = services.clock.now()
    with services.unit_of_work(write=True) as uow:
        known = next((p for p in uow.people.all() if p.id == who.person_id), None)
        if known is None:
            namesake = uow.people.find_name(who.name)
            name = who.name if namesake is None else f"{who.name[:70]} ({who.person_id[:6]})"
            person = Person(who.person_id, name, who.role, name_salt=services.new_secret())
        else:
            person = replace(known, role=who.role)
        if not person.active:
            return None
        if person != known:
            uow.people.add(person)
            account.enter(uow, now, "person", person.id, {"person": person_entry(person), "by": person.id})
        signed = start(uow, services, person, Method.OPENID)
        uow.commit()
    return signed
