"""Digests by mail, against a real SMTP server of this machine."""

from __future__ import annotations

import ssl
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from inspect_core.domain.errors import BadInput, NotAllowed, StoreFault
from inspect_core.usecases.due_mail import send_digests
from inspect_core.usecases.mail import MailSettings, Security, SmtpMailer, UnusableMailer, mail_settings, mailer_for
from inspect_core.usecases.verify import verify
from tests.engines import stores
from tests.usecases.mail_server import Inbox, Server, certificate
from tests.usecases.site import Site

FILE = """
[mail]
host = "mail.example"
sender = "Gear register <gear@example.org>"
to = ["office@example.org"]

[mail.sites]
"North Quay" = ["quay@example.org", "office@example.org"]
"""


@pytest.fixture
def inbox() -> Inbox:
    return Inbox()


@pytest.fixture
def plain_server(inbox: Inbox) -> Iterator[Server]:
    server = Server(inbox, "none")
    server.start()
    yield server
    server.stop()


def settings(port: int, **changes) -> MailSettings:
    given = {
        "host": "127.0.0.1", "sender": "gear@example.org", "to": ("office@example.org",), "port": port,
        "sites": {"North Quay": ("quay@example.org",)}, "security": Security.NONE,
    }  # fmt: skip
    return MailSettings(**given | changes)


@pytest.fixture
def mailing(site: Site, plain_server: Server) -> Site:
    """A site with late gear at two places, that sends to the plain server."""
    site.lanyard("A-1", made_on="2024-01-01", first_used_on="2025-01-01")
    site.lanyard("A-2", made_on="2024-01-01", first_used_on="2025-03-10", site="Mill Street")
    site.services = replace(site.services, mailer=SmtpMailer(settings(plain_server.bound)))
    return site


def test_each_site_gets_its_digest_with_its_sheet(mailing: Site, inbox: Inbox) -> None:
    told = send_digests(mailing.manager, mailing.services)
    assert [(one.site, one.to) for one in told] == [
        ("Mill Street", ("office@example.org",)),
        ("North Quay", ("office@example.org", "quay@example.org")),
    ]
    assert inbox.recipients == [["office@example.org"], ["office@example.org", "quay@example.org"]]
    message = inbox.messages[1]
    assert message["Subject"] == "Fall-protection gear, North Quay: 1 overdue, 0 due soon, 0 on hold"
    assert message["Auto-Submitted"] == "auto-generated"
    text = message.get_body().get_content()
    assert "A-1  webbing lanyard  due 2026-01-01" in text and "A-2" not in text and "come first" in text
    (sheet,) = message.iter_attachments()
    assert sheet.get_content_type() == "application/pdf" and sheet.get_content().startswith(b"%PDF")


def test_the_same_digest_goes_out_once_a_day_and_again_the_next_day(mailing: Site, inbox: Inbox) -> None:
    send_digests(mailing.manager, mailing.services)
    again = send_digests(mailing.manager, mailing.services)
    assert len(inbox.messages) == 2
    assert {one.skipped for one in again} == {"the same digest went out today already"}
    mailing.clock.move(days=1)
    send_digests(mailing.manager, mailing.services)
    assert len(inbox.messages) == 4
    assert verify(mailing.services).faults == ()


def test_a_digest_that_changed_goes_out_the_same_day(mailing: Site, inbox: Inbox) -> None:
    send_digests(mailing.manager, mailing.services)
    mailing.lanyard("A-3", made_on="2024-01-01", first_used_on="2025-02-01")
    send_digests(mailing.manager, mailing.services)
    assert len(inbox.messages) == 3
    assert "North Quay: 2 overdue" in inbox.messages[2]["Subject"]


def test_what_the_server_refused_counts_as_not_sent(mailing: Site, inbox: Inbox) -> None:
    inbox.refuse = "451 try later"
    with pytest.raises(StoreFault, match="could not be sent"):
        send_digests(mailing.manager, mailing.services)
    inbox.refuse = ""
    send_digests(mailing.manager, mailing.services)
    assert len(inbox.messages) == 2


def test_a_site_that_nobody_is_named_for_is_told(mailing: Site, plain_server: Server, inbox: Inbox) -> None:
    mailing.services = replace(mailing.services, mailer=SmtpMailer(settings(plain_server.bound, to=())))
    told = {one.site: one.skipped for one in send_digests(mailing.manager, mailing.services)}
    assert told == {"Mill Street": "nobody is named for this site", "North Quay": ""}
    assert len(inbox.messages) == 1


def test_a_line_break_in_a_sites_name_makes_no_header(mailing: Site, inbox: Inbox, tmp_path: Path) -> None:
    mailing.lanyard("A-9", made_on="2024-01-01", first_used_on="2025-01-01", site="Hall")
    broken = "Hall\nBcc: x@example.org"  # what is typed loses its line breaks; an older register may hold one
    assert stores.changed(tmp_path / "store", "UPDATE items SET site = :site WHERE site = 'Hall'", site=broken)
    send_digests(mailing.manager, mailing.services, site=broken)
    assert inbox.messages[0]["Bcc"] is None and inbox.recipients == [["office@example.org"]]


def test_mail_needs_a_server_and_the_right_role(mailing: Site) -> None:
    with pytest.raises(NotAllowed, match="may not send mail"):
        send_digests(mailing.worker, mailing.services)
    with pytest.raises(BadInput, match="No mail server is set"):
        send_digests(mailing.manager, replace(mailing.services, mailer=None))


@pytest.mark.parametrize("how", ["tls", "starttls"])
def test_the_line_is_encrypted_the_server_is_known_and_the_user_signs_in(
    mailing: Site, inbox: Inbox, tmp_path: Path, how: str
) -> None:
    files = certificate(tmp_path)
    server = Server(inbox, how, files, sign_in=how == "starttls")
    server.start()
    try:
        asked = settings(server.bound, security=Security(how))
        if how == "starttls":
            asked = replace(asked, user="gear", password="right")
        trusted = SmtpMailer(asked, context=ssl.create_default_context(cafile=str(files[0])))
        send_digests(mailing.manager, replace(mailing.services, mailer=trusted))
        assert inbox.encrypted == [True, True]
        assert inbox.logins == (["gear", "gear"] if how == "starttls" else [])
        mailing.clock.move(days=1)
        with pytest.raises(StoreFault, match="could not be sent"):
            send_digests(mailing.manager, replace(mailing.services, mailer=SmtpMailer(asked)))
        if how == "starttls":
            wrong = SmtpMailer(
                replace(asked, password="wrong"), context=ssl.create_default_context(cafile=str(files[0]))
            )
            with pytest.raises(StoreFault, match="refused the user or the password"):
                send_digests(mailing.manager, replace(mailing.services, mailer=wrong))
        assert len(inbox.messages) == 2
    finally:
        server.stop()


def test_a_server_that_offers_no_encryption_gets_nothing(mailing: Site, plain_server: Server, inbox: Inbox) -> None:
    asked = SmtpMailer(settings(plain_server.bound, security=Security.STARTTLS))
    with pytest.raises(StoreFault):
        send_digests(mailing.manager, replace(mailing.services, mailer=asked))
    assert inbox.messages == []


def test_settings_come_from_the_file_and_the_environment_goes_first() -> None:
    found = mail_settings(FILE, {})
    assert found is not None
    assert (found.host, found.port, found.security) == ("mail.example", 465, Security.TLS)
    assert found.recipients("North Quay") == ("office@example.org", "quay@example.org")
    changed = mail_settings(
        FILE,
        {
            "BARTACK_MAIL_HOST": "other.example", "BARTACK_MAIL_SECURITY": "starttls", "BARTACK_MAIL_USER": "gear",
            "BARTACK_MAIL_PASSWORD": "secret", "BARTACK_MAIL_TO": "a@example.org, b@example.org",
        },
    )  # fmt: skip
    assert changed is not None
    assert (changed.host, changed.port, changed.password) == ("other.example", 587, "secret")
    assert changed.recipients("") == ("a@example.org", "b@example.org")
    assert "secret" not in repr(changed)
    assert mail_settings(None, {}) is None and mail_settings("[other]\nx = 1\n", {}) is None


@pytest.mark.parametrize(
    ("text", "environment", "words"),
    [
        ('[mail]\nhost = "x"\nsender = "a@b"\npassword = "p"\n', {}, "holds a mail password"),
        ("[mail\n", {}, "no proper TOML"),
        ('[mail]\nhost = "x"\nsender = "nobody"\n', {}, "no mail address"),
        ('[mail]\nhost = "x"\nsender = "a@b"\nto = ["x@y\\nBcc: z@y"]\n', {}, "no mail address"),
        ('[mail]\nhost = "x"\nsender = "a@b"\ncolour = "red"\n', {}, "no mail setting"),
        ('[mail]\nhost = "x"\nsender = "a@b"\nsecurity = "maybe"\n', {}, "security or port"),
        ('[mail]\nhost = "x"\nsender = "a@b"\nport = 99999\n', {}, "port is wrong"),
        ('[mail]\nhost = "x"\nsender = "a@b"\nuser = "u"\n', {}, "has no password"),
        (
            '[mail]\nhost = "x"\nsender = "a@b"\nuser = "u"\nsecurity = "none"\n',
            {"BARTACK_MAIL_PASSWORD": "p"},
            "without encryption",
        ),
    ],
)
def test_wrong_settings_are_told_and_keep_nobody_from_the_record(text: str, environment: dict, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        mail_settings(text, environment)
    mailer = mailer_for(text, environment)
    assert isinstance(mailer, UnusableMailer)
    with pytest.raises(BadInput, match=words):
        _ = mailer.settings
