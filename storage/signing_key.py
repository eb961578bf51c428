"""The key that signs the account's heads: a file of the store's folder, outside the database."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from inspect_core.domain.errors import StoreFault
from storage.faults import disk_faults

#: The key's file inside a store's folder.
KEY_NAME = "signing_key.pem"


class KeyFile:
    """Fulfils Signer with an Ed25519 key in a PEM file (PKCS #8, RFC 8410), made with mode 0600 at first use."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._key: Ed25519PrivateKey | None = None

    def public_key(self) -> bytes:
        return self._loaded().public_key().public_bytes_raw()

    def sign(self, message: bytes) -> bytes:
        return self._loaded().sign(message)

    def _loaded(self) -> Ed25519PrivateKey:
        if self._key is None:
            self._key = self._read() or self._made()
        return self._key

    def _read(self) -> Ed25519PrivateKey | None:
        with disk_faults():
            try:
                content = self._path.read_bytes()
            except FileNotFoundError:
                return None
        try:
            key = serialization.load_pem_private_key(content, None)
        except (ValueError, TypeError):
            key = None
        if not isinstance(key, Ed25519PrivateKey):
            raise StoreFault(
                f"The signing key {self._path} is damaged, so nothing can be recorded.",
                "Put the right file back, or move it away: a new key is made then, and the account says so.",
            )
        return key

    def _made(self) -> Ed25519PrivateKey:
        """A new key, unless another process was quicker: then its key."""
        key = Ed25519PrivateKey.generate()
        content = key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        aside = self._path.with_name(f".{self._path.name}.{os.getpid()}.{os.urandom(4).hex()}")
        with disk_faults():
            self._path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            handle = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            try:
                with os.fdopen(handle, "wb") as file:
                    file.write(content)
                    file.flush()
                    os.fsync(file.fileno())
                with suppress(FileExistsError):
                    self._path.hardlink_to(aside)  # a link, unlike a rename, never replaces a key
            finally:
                aside.unlink()
        found = self._read()
        if found is None:
            raise StoreFault(f"The signing key {self._path} cannot be written.", "Check the folder's permissions.")
        return found
