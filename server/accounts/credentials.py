"""Making, hashing and carrying secrets. Knows nothing of their owners or of storage.

Passphrases are hashed with argon2id at pwdlib's defaults, PINs at the OWASP minimum (19 MiB, 2 passes): the limit on
tries protects a six-digit PIN, not the hash, and forty phones must be able to sign in within a minute. Hashing runs in
two threads, so that a burst of sign-ins doesn't take all processors.

A player's PIN is his only factor, and the system makes it. ASVS level 2 asks for a second factor, but a
sixteen-year-old's school phone has none, and the PIN protects only his own answers. Rejected: four digits; e-mail
(no contact data of minors).
"""

from __future__ import annotations

import functools
import hashlib
import re
import secrets
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from ipaddress import IPv6Address, ip_address

from pwdlib import PasswordHash
from pwdlib.exceptions import UnknownHashError
from pwdlib.hashers.argon2 import Argon2Hasher

from server.i18n.lazy_text import LazyText

#: Letters and digits that can't be confused in print or handwriting: no 0 O 1 I L 2 Z 5 S 8 B U V.
CODE_ALPHABET = "ACDEFGHJKMNPQRTWXY34679"
CODE_LENGTH = 8
PIN_LENGTH = 6
PASSPHRASE_MIN, PASSPHRASE_MAX = 15, 200
COOKIE_SECURE = "__Host-gapsound"
COOKIE_PLAIN = "gapsound-plain"
DEVICE_SECURE = "__Host-gapsound-device"
DEVICE_PLAIN = "gapsound-device"
#: Letters of a device's key, and how long a device is known after the last sign-in on it.
KEY_LENGTH, KEY_KEPT = 43, timedelta(days=400)

_PASSPHRASES = PasswordHash((Argon2Hasher(),))
_PINS = PasswordHash((Argon2Hasher(time_cost=2, memory_cost=19 * 1024, parallelism=1),))
_POOL = ThreadPoolExecutor(max_workers=2, thread_name_prefix="hash")
_TOKEN = re.compile(r"([A-Za-z0-9_-]{8,40})\.([A-Za-z0-9_-]{43})")


def make_id() -> str:
    """A new row id: 96 random bits, safe in a URL."""
    return secrets.token_urlsafe(12)


def make_code() -> str:
    """A new team code: eight letters and digits without look-alikes."""
    return "".join(secrets.choice(CODE_ALPHABET) for _ in range(CODE_LENGTH))


def from_typed_code(text: str) -> str:
    """Normalize a typed team code: no spaces or dashes, upper case."""
    return re.sub(r"[\s-]", "", text).upper()


def make_pin() -> str:
    """A new PIN: six random digits."""
    return f"{secrets.randbelow(10**PIN_LENGTH):0{PIN_LENGTH}d}"


def make_passphrase() -> str:
    """A new passphrase to type once: five groups of four lower-case letters, about 83 random bits."""
    letters = CODE_ALPHABET[:18].lower()
    return "-".join("".join(secrets.choice(letters) for _ in range(4)) for _ in range(5))


def hash_passphrase(passphrase: str) -> str:
    """Hash a passphrase (0.1 to 0.2 s)."""
    return _PASSPHRASES.hash(passphrase)


def hash_pin(pin: str) -> str:
    """Hash a PIN (about 30 ms)."""
    return _PINS.hash(pin)


def is_secret(secret: str, secret_hash: str) -> bool:
    """Whether the secret matches the hash; False for an empty or invalid hash."""
    try:
        return _PASSPHRASES.verify(secret, secret_hash)
    except UnknownHashError:
        return False


@functools.cache
def dummy_hash(is_pin: bool) -> str:
    """The hash that a try for an unknown member is checked against, so that it takes as long as any other."""
    return hash_pin(make_pin()) if is_pin else hash_passphrase(make_passphrase())


def check_secret(secret: str, secret_hash: str) -> bool:
    """`is_secret`, run in one of the hashing threads."""
    return _POOL.submit(is_secret, secret, secret_hash).result()


def hash_pins(pins: list[str]) -> list[str]:
    """Hash PINs in the hashing threads."""
    return list(_POOL.map(hash_pin, pins))


def make_token(team_id: str) -> str:
    """A new session token: the team's id and 256 random bits.

    The team is in it so that the session is looked up within its team, as every row is. Rejected: a table of sessions
    across teams.
    """
    return f"{team_id}.{secrets.token_urlsafe(32)}"


def find_token_team(token: str) -> str | None:
    """The team id in a token; None when the token is malformed."""
    match = _TOKEN.fullmatch(token)
    return match[1] if match else None


def token_hash(token: str) -> str:
    """The hash that is stored for a token. A plain hash is enough: the token has 256 random bits."""
    return hashlib.sha256(token.encode()).hexdigest()


def cookie_name(is_https: bool) -> str:
    """The session cookie's name. With HTTPS, browsers bind it to this host and never send it unencrypted."""
    return COOKIE_SECURE if is_https else COOKIE_PLAIN


def make_device_key() -> str:
    """A new device's key: 256 random bits."""
    return secrets.token_urlsafe(32)


def device_cookie_name(is_https: bool) -> str:
    """The name of the cookie with a device's key."""
    return DEVICE_SECURE if is_https else DEVICE_PLAIN


def address_subject(address: str) -> str:
    """The subject that an address's tries count for: hashed; for IPv6 the whole /64 network of a household or phone."""
    try:
        known = ip_address(address.partition("%")[0])  # link-local addresses end in the name of a network card
    except ValueError:
        return "address:unknown"
    counted = str(known)
    if isinstance(known, IPv6Address):
        counted = known.exploded[:19] if known.ipv4_mapped is None else str(known.ipv4_mapped)
    return "address:" + hashlib.sha256(counted.encode()).hexdigest()[:32]


def passphrase_problems(passphrase: str) -> list[str]:
    """Why this can't be a passphrase, one line per problem."""
    if not PASSPHRASE_MIN <= len(passphrase) <= PASSPHRASE_MAX:
        length = {"least": PASSPHRASE_MIN, "most": PASSPHRASE_MAX, "found": len(passphrase)}
        return [LazyText("passphrase: expected {least} to {most} characters, found {found}", **length)]
    if len(set(passphrase)) < 5:
        return [LazyText("passphrase: expected at least 5 different characters")]
    return []
