"""Passwords and secrets: made, hashed, compared. Nothing here is kept, and nothing is logged.

A password is hashed with Argon2id (RFC 9106), slow on purpose; a session or token is 256 random bits, for which one
SHA-256 is enough. The hasher is loaded when first needed.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import unicodedata
from functools import cache
from typing import TYPE_CHECKING, Final

from beltwright.errors import InputError

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST: Final = 10
LONGEST: Final = 200
# RFC 9106 asks for as much memory as can be spared: two at once, so that a server stays within its memory
_PASSES: Final = 3
_MEMORY: Final = 32 * 1024   # KiB
_AT_ONCE = threading.BoundedSemaphore(2)
# no l, 1, o, 0: a first password is read from paper
_SIGNS: Final = "abcdefghijkmnpqrstuvwxyz23456789"
_GROUPS, _EACH = 4, 4


def hash_password(password: str) -> str:
    """The hash of a password, as it is kept."""
    with _AT_ONCE:
        return _hasher().hash(_plain(password))


def must_be_good(password: str, *, name: str) -> None:
    """`InputError` when a new password of the person of that name is too easily guessed."""
    word = _plain(password)
    if len(word) < SHORTEST:
        raise InputError(f"a password has at least {SHORTEST} signs: four words in a row are good and easy to keep")
    if len(word) > LONGEST:
        raise InputError(f"a password has at most {LONGEST} signs")
    bare = word.casefold().strip("0123456789 !.-")
    if bare in (name.casefold(), "password", "beltwright", "") or len(set(word)) < 5:
        raise InputError("this password is the first that would be tried: take four words in a row")


def matches(password: str, hashed: str) -> bool:
    """Whether a password is the one. Takes the same time for a person there is none of, given an empty hash."""
    from argon2.exceptions import InvalidHashError, VerificationError

    word = _plain(password[:LONGEST + 1])
    try:
        with _AT_ONCE:
            return _hasher().verify(hashed or _nobody(), word) and bool(hashed)
    except (VerificationError, InvalidHashError):
        return False


def is_outdated(hashed: str) -> bool:
    """Whether a hash was made with weaker settings than today's."""
    return _hasher().check_needs_rehash(hashed)


def first_password() -> str:
    """A password to hand to somebody, good for 80 bits: `mk3t-9xqa-...`."""
    return "-".join("".join(secrets.choice(_SIGNS) for _ in range(_EACH)) for _ in range(_GROUPS))


def new_secret() -> str:
    """256 random bits that go into a cookie, a header or an address as they are."""
    return secrets.token_urlsafe(32)


def kept_as(secret: str) -> str:
    """What the book keeps of a secret: nothing that could be used in its place."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def bound_to(secret: str, use: str) -> str:
    """A second secret that follows from the first, for one use; the first cannot be had from it."""
    return hmac.new(secret.encode("utf-8", "surrogatepass"), use.encode(), hashlib.sha256).hexdigest()


def masked(digits: str) -> str:
    """Hexadecimal digits behind a mask of their own, another each time: told apart from what stands beside them in a
    packed page by nobody who counts its length."""
    mask = secrets.token_bytes(len(digits) // 2)
    return mask.hex() + bytes(one ^ two for one, two in zip(mask, bytes.fromhex(digits), strict=True)).hex()


def unmasked(text: str) -> str:
    """What stands behind the mask; nothing when there is none.

    >>> unmasked(masked("00ff")), unmasked("no digits")
    ('00ff', '')
    """
    try:
        both = bytes.fromhex(text)
    except ValueError:
        return ""
    half = len(both) // 2
    return bytes(one ^ two for one, two in zip(both[:half], both[half:], strict=False)).hex()


def same(one: str, other: str) -> bool:
    """Whether two secrets are the same, in a time that tells nothing about where they differ."""
    return hmac.compare_digest(one.encode("utf-8", "surrogatepass"), other.encode("utf-8", "surrogatepass"))


def _plain(password: str) -> str:
    # the same letters from any keyboard; half a sign cannot be hashed and matches nothing
    return unicodedata.normalize("NFKC", password).encode("utf-8", "replace").decode()


@cache
def _hasher() -> PasswordHasher:
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=_PASSES, memory_cost=_MEMORY, parallelism=1)


@cache
def _nobody() -> str:
    return _hasher().hash(new_secret())
