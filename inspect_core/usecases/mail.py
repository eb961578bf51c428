"""Mail settings and sending by SMTP. The password comes from the environment alone; lines are encrypted by default."""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from email.message import EmailMessage
from email.utils import parseaddr
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from inspect_core.domain.errors import BadInput, StoreFault
from inspect_core.domain.toml_text import read_toml

PASSWORD_VARIABLE = "BARTACK_MAIL_PASSWORD"  # noqa: S105 - the name of a variable
_VARIABLES = ("host", "port", "security", "user", "sender", "to")
_TIMEOUT_S = 30.0


class Security(StrEnum):
    """How the line to the mail server is protected."""

    TLS = "tls"
    STARTTLS = "starttls"
    NONE = "none"


_PORTS = {Security.TLS: 465, Security.STARTTLS: 587, Security.NONE: 25}  # RFC 8314, RFC 6409, RFC 5321


@dataclass(frozen=True, slots=True)
class MailSettings:
    """Where and how mail goes out. `to`: addresses for every site; `sites`: further ones for one site by its name."""

    host: str
    sender: str
    to: tuple[str, ...] = ()
    sites: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    security: Security = Security.TLS
    port: int = 0
    user: str = ""
    password: str = field(default="", repr=False)

    def recipients(self, site: str) -> tuple[str, ...]:
        """Who gets the mail about a site, each once."""
        return tuple(dict.fromkeys([*self.to, *self.sites.get(site, ())]))


def mail_settings(text: str | None, environment: Mapping[str, str]) -> MailSettings | None:
    """Settings from the store's settings file (TOML, its [mail] part) and the environment, which goes first.

    None where neither names a server. Raises BadInput naming what is wrong; a password in the file is refused.
    """
    given = _from_file(text)
    for name in _VARIABLES:
        value = environment.get(f"BARTACK_MAIL_{name.upper()}")
        if value:
            given[name] = [one.strip() for one in value.split(",") if one.strip()] if name == "to" else value
    if not given.get("host"):
        return None
    try:
        security = Security(str(given.get("security", Security.TLS.value)).lower())
        port = int(given.get("port") or _PORTS[security])
    except ValueError:
        raise _wrong("The mail server's security or port is wrong.") from None
    if not 0 < port < 65536:
        raise _wrong("The mail server's port is wrong.")
    sites = given.get("sites", {})
    if not isinstance(sites, Mapping):
        raise _wrong("The part [mail.sites] must name addresses by site.")
    settings = MailSettings(
        host=str(given["host"]),
        sender=_address(given.get("sender", "")),
        to=_addresses(given.get("to", [])),
        sites=MappingProxyType({str(name): _addresses(value) for name, value in sites.items()}),
        security=security,
        port=port,
        user=str(given.get("user", "")),
        password=environment.get(PASSWORD_VARIABLE, ""),
    )
    if settings.user and not settings.password:
        raise BadInput(
            "The mail server's user has no password.", f"Put it into the environment variable {PASSWORD_VARIABLE}."
        )
    if settings.password and settings.user and security is Security.NONE:
        raise _wrong("A password is not sent over a line without encryption.")
    return settings


def mailer_for(text: str | None, environment: Mapping[str, str]) -> SmtpMailer | UnusableMailer | None:
    """What sends mail by these settings; None where none are given. Settings that are wrong keep nobody from the
    record: they are told when mail is to be sent."""
    try:
        settings = mail_settings(text, environment)
    except BadInput as error:
        return UnusableMailer(error)
    return SmtpMailer(settings) if settings else None


class UnusableMailer:
    """Fulfils Mailer by refusing, with what is wrong with the settings."""

    def __init__(self, error: BadInput) -> None:
        self._error = error

    @property
    def settings(self) -> MailSettings:
        raise self._error

    def send(self, message: EmailMessage) -> None:
        raise self._error


def _from_file(text: str | None) -> dict[str, Any]:
    if not text:
        return {}
    try:
        part = read_toml(text).get("mail", {})
    except ValueError as fault:
        raise BadInput(f"The settings file is no proper TOML: {fault}.", "Mend that line.") from None
    if not isinstance(part, dict):
        raise _wrong("The part [mail] must hold names with values.")
    if "password" in part:
        raise BadInput(
            "The settings file holds a mail password.",
            f"Take it out; put it into the environment variable {PASSWORD_VARIABLE}.",
        )
    strange = sorted(set(part) - {*_VARIABLES, "sites"})
    if strange:
        raise _wrong(f"“{strange[0]}” is no mail setting.")
    return dict(part)


def _wrong(problem: str) -> BadInput:
    return BadInput(problem, "See docs/due.md for the settings and their names.")


def _address(value: Any) -> str:
    text = str(value)
    name, address = parseaddr(text)
    if "\n" in text or "\r" in text or address.count("@") != 1 or address.startswith("@") or address.endswith("@"):
        raise _wrong(f"“{text[:60]}” is no mail address.")
    return text if name else address


def _addresses(value: Any) -> tuple[str, ...]:
    listed: Sequence[Any] = [value] if isinstance(value, str) else value
    if not isinstance(listed, list):
        raise _wrong("Mail addresses stand in a list.")
    return tuple(_address(one) for one in listed)


class SmtpMailer:
    """Fulfils Mailer: one connection a message. Raises StoreFault where the server cannot be reached or refuses."""

    def __init__(self, settings: MailSettings, *, context: ssl.SSLContext | None = None) -> None:
        self._settings = settings
        self._context = context or ssl.create_default_context()

    @property
    def settings(self) -> MailSettings:
        return self._settings

    def send(self, message: EmailMessage) -> None:
        s = self._settings
        try:
            with self._connected() as server:
                if s.user:
                    server.login(s.user, s.password)
                refused = server.send_message(message)
        except smtplib.SMTPAuthenticationError:
            raise StoreFault("The mail server refused the user or the password.", "Check both.") from None
        except (smtplib.SMTPException, OSError) as fault:
            raise StoreFault(
                f"The mail could not be sent: {_reason(fault)}.", "Check the mail settings, then send it again."
            ) from None
        if refused:
            raise StoreFault(
                f"The mail server refused {', '.join(sorted(refused))}.", "Check these addresses; the others have it."
            )

    def _connected(self) -> smtplib.SMTP:
        s = self._settings
        if s.security is Security.TLS:
            return smtplib.SMTP_SSL(s.host, s.port, timeout=_TIMEOUT_S, context=self._context)
        server = smtplib.SMTP(s.host, s.port, timeout=_TIMEOUT_S)
        if s.security is Security.STARTTLS:
            try:
                server.starttls(context=self._context)
            except BaseException:
                server.close()
                raise
        return server


def _reason(fault: Exception) -> str:
    return " ".join(str(fault).split())[:200] or type(fault).__name__
