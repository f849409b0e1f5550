"""The site's own key: what it gives out is signed with it, and anybody who has its public half can
tell whether a file is as it was given out (Ed25519, RFC 8032)."""

import json
from dataclasses import dataclass
from functools import cache

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from django.conf import settings

from shop.web.kept_files import kept_once

GROUP = 8


@cache
def _own_key(folder):
    """Made once and kept beside the data, as the secret key is; it is in no backup."""
    kept = kept_once(folder / "signing_key", _new_key)
    return Ed25519PrivateKey.from_private_bytes(bytes.fromhex(kept.decode()))


def _new_key():
    return Ed25519PrivateKey.generate().private_bytes_raw().hex().encode()


def public_key():
    """The site's public key, as 64 hexadecimal digits."""
    return _own_key(settings.LOCAL_DIR).public_key().public_bytes_raw().hex()


def in_groups(key):
    """A key as people compare it: eight digits at a time."""
    return " ".join(key[start : start + GROUP] for start in range(0, len(key), GROUP))


def typed_key(text):
    """A public key as somebody typed or pasted it, in whatever groups; raises ValueError."""
    key = "".join(sign for sign in text.lower() if sign.isalnum())
    if len(bytes.fromhex(key)) != 32:
        raise ValueError("a key has 64 digits")
    return key


def signed_by_this_site(facts):
    """The facts of a manifest, with this site's signature of all the others."""
    signature = _own_key(settings.LOCAL_DIR).sign(_said(facts))
    return facts | {"signed": {"key": public_key(), "signature": signature.hex()}}


@dataclass(frozen=True)
class Proof:
    """Whether what is brought in is as its site gave it out, and why not."""

    proved: bool
    why: str = ""


def proof_of(facts, key=""):
    """The `Proof` of a manifest (every file in it is held against that already).

    key: the public key of the site it is said to come from, as it was had from there; "" for this
    site's own.
    """
    signed = facts.get("signed")
    if not isinstance(signed, dict):
        return Proof(False, "it bears no site's signature")
    try:
        named, signature = str(signed["key"]), bytes.fromhex(signed["signature"])
        rest = {name: value for name, value in facts.items() if name != "signed"}
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(named)).verify(signature, _said(rest))
    except (InvalidSignature, KeyError, ValueError, TypeError):
        return Proof(False, "its signature is not of what is in it")
    if named not in {key, public_key()}:
        why = "its key was not compared" if not key else "it was signed with another key"
        return Proof(False, why)
    return Proof(True)


def _said(facts):
    return json.dumps(facts, sort_keys=True, separators=(",", ":")).encode()
