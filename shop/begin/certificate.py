"""A certificate of the site's own making, for HTTPS on a local network.

An authority of its own signs the server's certificate. A phone is told to trust the authority
once; the server's certificate may then be made anew, for another address or when it has run out.
"""

import ipaddress
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

AUTHORITY, AUTHORITY_KEY = "authority.crt", "authority.key"
SERVER, SERVER_KEY = "server.crt", "server.key"
AUTHORITY_LASTS = timedelta(days=3650)
# Browsers take no server's certificate that is good for more than 398 days (CA/Browser Forum,
# baseline requirements 6.3.2, from memory).
SERVER_LASTS = timedelta(days=397)
RENEW_BEFORE = timedelta(days=30)


def ensure_certificate(folder, hosts, *, now=None):
    """Make the authority, and the server's certificate for `hosts`, where there is none that will
    do; returns the paths of the server's certificate and of its key."""
    folder, now = Path(folder), now or datetime.now(UTC)
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    if not _is_good(folder / AUTHORITY, now):
        _make_authority(folder, now)
        (folder / SERVER).unlink(missing_ok=True)
    if not _is_good(folder / SERVER, now) or _hosts_of(_read(folder / SERVER)) != set(hosts):
        _make_server(folder, hosts, now)
    return folder / SERVER, folder / SERVER_KEY


def fingerprint(path):
    """The SHA-256 of a certificate as phones show it: pairs of digits between colons."""
    return _read(path).fingerprint(hashes.SHA256()).hex(":").upper()


def _is_good(path, now):
    return path.exists() and _read(path).not_valid_after_utc > now + RENEW_BEFORE


def _read(path):
    return x509.load_pem_x509_certificate(Path(path).read_bytes())


def _hosts_of(certificate):
    names = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {str(name.value) for name in names}


def _make_authority(folder, now):
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Sweepbook on this network")])
    usage = x509.KeyUsage(
        **dict.fromkeys(
            [
                "digital_signature",
                "content_commitment",
                "key_encipherment",
                "data_encipherment",
                "key_agreement",
                "encipher_only",
                "decipher_only",
            ],
            False,
        ),
        key_cert_sign=True,
        crl_sign=True,
    )
    made = (
        _begun(name, key.public_key(), name, key.public_key(), now, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .sign(key, hashes.SHA256())
    )
    _write(folder / AUTHORITY_KEY, _pem(key))
    _write(folder / AUTHORITY, made.public_bytes(serialization.Encoding.PEM))


def _make_server(folder, hosts, now):
    authority = _read(folder / AUTHORITY)
    authority_key = serialization.load_pem_private_key(
        (folder / AUTHORITY_KEY).read_bytes(), password=None
    )
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, hosts[0][:64])])
    made = (
        _begun(name, key.public_key(), authority.subject, authority.public_key(), now, SERVER_LASTS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([_named(one) for one in hosts]), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(authority_key, hashes.SHA256())
    )
    _write(folder / SERVER_KEY, _pem(key))
    _write(folder / SERVER, made.public_bytes(serialization.Encoding.PEM))


def _begun(subject, public_key, issuer, issuer_key, now, lasts):
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(public_key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + lasts)
        # Strict clients (Python 3.13 is one) ask for both identifiers (RFC 5280, 4.2.1.1 and 2).
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public_key), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(issuer_key), critical=False
        )
    )


def _named(host):
    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _pem(key):
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def _write(path, content):
    path.touch(mode=0o600)
    path.write_bytes(content)
