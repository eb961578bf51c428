"""Hashes of PINs and pass phrases: Argon2id as in RFC 9106, by argon2-cffi."""

from __future__ import annotations

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError


class Argon2Secrets:
    """Fulfils SecretHasher. Without arguments the library's own choice counts (RFC 9106, section 4, second choice:
    3 passes over 64 MiB); tests give less, since they sign in often."""

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or PasswordHasher()

    def hash(self, secret: str) -> str:
        return self._hasher.hash(secret)

    def verify(self, hash: str, secret: str) -> bool:
        try:
            return self._hasher.verify(hash, secret)
        except (VerificationError, InvalidHashError):
            return False
