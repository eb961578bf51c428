"""A mail server of this machine for one test, with a certificate of its own."""

from __future__ import annotations

import socket
import ssl
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from email.message import EmailMessage
from ipaddress import IPv4Address
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult, LoginPassword
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID


def certificate(folder: Path) -> tuple[Path, Path]:
    """(certificate, key) for 127.0.0.1, signed by itself."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "127.0.0.1")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(IPv4Address("127.0.0.1"))]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=None), critical=True)
        .sign(key, hashes.SHA256())
    )
    certificate_file, key_file = folder / "certificate.pem", folder / "key.pem"
    certificate_file.write_bytes(made.public_bytes(serialization.Encoding.PEM))
    key_file.write_bytes(
        key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    )
    return certificate_file, key_file


class Inbox:
    """What arrived. `refuse`: the answer to every message instead of taking it."""

    def __init__(self) -> None:
        self.messages: list[EmailMessage] = []
        self.recipients: list[list[str]] = []
        self.logins: list[str] = []
        self.encrypted: list[bool] = []
        self.refuse = ""

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:  # noqa: N802 - the library's name
        if self.refuse:
            return self.refuse
        self.messages.append(message_from_bytes(envelope.content, policy=policy.default))  # type: ignore[arg-type]
        self.recipients.append(list(envelope.rcpt_tos))
        self.encrypted.append(session.ssl is not None or server.transport.get_extra_info("cipher") is not None)
        return "250 taken"

    def login(self, server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
        good = isinstance(data, LoginPassword) and data.password == b"right"
        if good:
            self.logins.append(data.login.decode())
        return AuthResult(success=good, handled=False)


class Server(Controller):
    """The server on a free port. `how`: "tls", "starttls" or "none"."""

    def __init__(
        self, inbox: Inbox, how: str, files: tuple[Path, Path] | None = None, *, sign_in: bool = False
    ) -> None:
        self._inbox, self._how, self._sign_in = inbox, how, sign_in
        context = None
        if files is not None:
            context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            context.load_cert_chain(*files)
        self._start_tls = context if how == "starttls" else None
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.bound = int(probe.getsockname()[1])
        super().__init__(inbox, hostname="127.0.0.1", port=self.bound, ssl_context=context if how == "tls" else None)

    def factory(self) -> SMTP:
        return SMTP(
            self._inbox,
            tls_context=self._start_tls,
            require_starttls=self._start_tls is not None,
            authenticator=self._inbox.login if self._sign_in else None,
            auth_required=self._sign_in,
            auth_require_tls=self._how == "starttls",
        )
