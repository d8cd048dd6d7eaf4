"""Secrets: how they are made, hashed and carried. It must not know who holds them or where they are stored.

Passphrases are hashed with argon2id at pwdlib's own strength, PINs at the OWASP minimum (19 MiB, 2 passes): a PIN of
six digits is kept safe by the limit on tries, not by the hash, and forty phones sign in within a minute. Hashing runs
in two threads, so that many who sign in at once leave the processors to others.
"""

from __future__ import annotations

import functools
import hashlib
import re
import secrets
from concurrent.futures import ThreadPoolExecutor
from ipaddress import IPv6Address, ip_address

from pwdlib import PasswordHash
from pwdlib.exceptions import UnknownHashError
from pwdlib.hashers.argon2 import Argon2Hasher

from server.i18n.lazy_text import LazyText

#: Letters and digits that nobody takes for one another on a wall, in any hand: no 0 O 1 I L 2 Z 5 S 8 B U V.
CODE_SIGNS = "ACDEFGHJKMNPQRTWXY34679"
CODE_LENGTH = 8
PIN_LENGTH = 6
PASSPHRASE_MIN, PASSPHRASE_MAX = 15, 200
COOKIE_SECURE = "__Host-gapsound"
COOKIE_PLAIN = "gapsound-plain"

_PASSPHRASES = PasswordHash((Argon2Hasher(),))
_PINS = PasswordHash((Argon2Hasher(time_cost=2, memory_cost=19 * 1024, parallelism=1),))
_POOL = ThreadPoolExecutor(max_workers=2, thread_name_prefix="hash")
_TOKEN = re.compile(r"([A-Za-z0-9_-]{8,40})\.([A-Za-z0-9_-]{43})")


def make_id() -> str:
    """A new id for a row: 96 random bits, safe in an address."""
    return secrets.token_urlsafe(12)


def make_code() -> str:
    """A new join code: eight signs without look-alikes."""
    return "".join(secrets.choice(CODE_SIGNS) for _ in range(CODE_LENGTH))


def from_typed_code(text: str) -> str:
    """A join code as typed, without spaces and dashes, in capitals."""
    return re.sub(r"[\s-]", "", text).upper()


def make_pin() -> str:
    """A new PIN: six random digits."""
    return f"{secrets.randbelow(10**PIN_LENGTH):0{PIN_LENGTH}d}"


def make_passphrase() -> str:
    """A new passphrase for a person to type once: five groups of four small letters, about 83 random bits."""
    letters = CODE_SIGNS[:18].lower()
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(5))


def hash_passphrase(passphrase: str) -> str:
    """The hash of a passphrase (0.1 to 0.2 s)."""
    return _PASSPHRASES.hash(passphrase)


def hash_pin(pin: str) -> str:
    """The hash of a PIN (about 30 ms)."""
    return _PINS.hash(pin)


def is_secret(secret: str, secret_hash: str) -> bool:
    """Whether this is the secret behind the hash; False on an empty or broken hash."""
    try:
        return _PASSPHRASES.verify(secret, secret_hash)
    except UnknownHashError:
        return False


@functools.cache
def nobodys_hash(is_pin: bool) -> str:
    """What a try against nobody is checked against, so that it takes as long as one against somebody."""
    return hash_pin(make_pin()) if is_pin else hash_passphrase(make_passphrase())


def check_secret(secret: str, secret_hash: str) -> bool:
    """`is_secret`, in one of the threads for hashes."""
    return _POOL.submit(is_secret, secret, secret_hash).result()


def hash_pins(pins: list[str]) -> list[str]:
    """The hashes of PINs, made in the threads for hashes."""
    return list(_POOL.map(hash_pin, pins))


def make_token(team_id: str) -> str:
    """A new session token: it names the team, so that the session is looked up within it, and 256 random bits."""
    return f"{team_id}.{secrets.token_urlsafe(32)}"


def find_token_team(token: str) -> str | None:
    """The team that a token names; None when it is no token."""
    match = _TOKEN.fullmatch(token)
    return match[1] if match else None


def token_hash(token: str) -> str:
    """What is stored of a token. A plain hash does: the token has 256 random bits."""
    return hashlib.sha256(token.encode()).hexdigest()


def cookie_name(is_https: bool) -> str:
    """The session cookie's name: with HTTPS one that browsers bind to this host and never send in the open."""
    return COOKIE_SECURE if is_https else COOKIE_PLAIN


def address_subject(address: str) -> str:
    """An address as it is counted: hashed, and for IPv6 the whole /64 network that one household or phone has."""
    try:
        known = ip_address(address.partition("%")[0])  # a phone on the same wire has its network card's name behind it
    except ValueError:
        return "address:unknown"
    counted = str(known)
    if isinstance(known, IPv6Address):
        counted = known.exploded[:19] if known.ipv4_mapped is None else str(known.ipv4_mapped)
    return "address:" + hashlib.sha256(counted.encode()).hexdigest()[:32]


def problems_of_passphrase(passphrase: str) -> list[str]:
    """Why this can't be a passphrase, a line each."""
    if not PASSPHRASE_MIN <= len(passphrase) <= PASSPHRASE_MAX:
        length = {"least": PASSPHRASE_MIN, "most": PASSPHRASE_MAX, "found": len(passphrase)}
        return [LazyText("passphrase: expected {least} to {most} characters, found {found}", **length)]
    if len(set(passphrase)) < 5:
        return [LazyText("passphrase: expected at least 5 different characters")]
    return []
