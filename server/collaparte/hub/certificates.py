"""The band's own certificate: a root that may sign for this hub alone, and the leaf that the hub shows with it.

What is signed keeps to RFC 5280 and to the narrowest rules of the browsers on tablets: SHA-256, names in the SAN only,
`serverAuth`, at most 398 days. Nothing here does I/O.
"""

import datetime
import ipaddress
from collections.abc import Iterable
from dataclasses import dataclass

from cryptography import x509
from cryptography.exceptions import UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

LOCAL = tuple(
    ipaddress.ip_network(network)
    for network in (
        *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"),  # RFC 1918
        *("169.254.0.0/16", "127.0.0.0/8", "::1/128"),  # RFC 3927; RFC 1122, 3.2.1.3; RFC 4291, 2.5.3
        "fc00::/7",  # RFC 4193
    )
)
"""Addresses that only a room's own network has."""
FIRST_RELEASE = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
ROOT_DAYS = 3650
BEFORE_DAYS = 30
"""A tablet's clock may be this far behind."""
LEAF_DAYS = 90
NAME_MOST = 64
"""Of a common name (RFC 5280, appendix A.1: ub-common-name); bytes, to be sure."""

_Key = ec.EllipticCurvePrivateKey


class NoRoot(ValueError):
    """These bytes are no root and key of ours."""


class WrongClock(ValueError):
    """The time given cannot be the time: no release is as old."""


@dataclass(frozen=True)
class Root:
    """The band's root: its certificate, and the key that never leaves the hub's machine."""

    certificate: x509.Certificate
    key: _Key

    @property
    def pem(self) -> bytes:
        """The certificate as PEM."""
        return self.certificate.public_bytes(Encoding.PEM)

    @property
    def der(self) -> bytes:
        """The certificate as DER, as tablets take it."""
        return self.certificate.public_bytes(Encoding.DER)

    @property
    def whole(self) -> bytes:
        """Key and certificate as PEM; the key is not encrypted: the file's mode guards it."""
        return _key_pem(self.key) + self.pem

    @property
    def name(self) -> str:
        """What systems list it under."""
        return str(self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, in pairs, as systems show it."""
        return self.certificate.fingerprint(SHA256()).hex(":").upper()

    @property
    def since(self) -> datetime.datetime:
        """From when on it holds."""
        return self.certificate.not_valid_before_utc

    @property
    def until(self) -> datetime.datetime:
        """Until when it holds."""
        return self.certificate.not_valid_after_utc


@dataclass(frozen=True)
class Leaf:
    """What the hub shows a browser, and its key."""

    whole: bytes
    """Key and certificate as PEM."""
    since: datetime.datetime
    until: datetime.datetime


def make_root(band: str, host: str, now: datetime.datetime) -> Root:
    """A new root for the hub called `host`: it can sign for that name and a room's own addresses only.

    Name constraints: RFC 5280, 4.2.1.10. Raises `WrongClock`.
    """
    if now < FIRST_RELEASE:
        raise WrongClock(f"This machine's clock says {now:%d %B %Y}: set it first; a certificate holds from now on.")
    key = ec.generate_private_key(ec.SECP256R1())
    name = _named(f"Colla Parte: {band}")
    permitted = [x509.DNSName(host), x509.DNSName("localhost"), *(x509.IPAddress(network) for network in LOCAL)]
    certificate = (
        _begun(name, name, key, now - datetime.timedelta(BEFORE_DAYS), now + datetime.timedelta(ROOT_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, excluded_subtrees=None), critical=True)
        .sign(key, SHA256())
    )
    return Root(certificate, key)


def make_leaf(root: Root, host: str, addresses: Iterable[str], now: datetime.datetime) -> Leaf:
    """A leaf for the hub's name and for those of its addresses that are a room's own."""
    key = ec.generate_private_key(ec.SECP256R1())
    since = max(root.since, now - datetime.timedelta(BEFORE_DAYS))
    until = min(root.until, now + datetime.timedelta(LEAF_DAYS))
    own = dict.fromkeys(("127.0.0.1", "::1", *addresses))
    names = [x509.DNSName(host), x509.DNSName("localhost")]
    names += [x509.IPAddress(ipaddress.ip_address(one)) for one in own if is_local(one)]  # type: ignore[misc]
    certificate = (
        _begun(_named(host), root.certificate.subject, key, since, until)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(root.key.public_key()), critical=False)
        .sign(root.key, SHA256())
    )
    return Leaf(_key_pem(key) + certificate.public_bytes(Encoding.PEM), since, until)


def read_root(whole: bytes) -> Root:
    """The root as it was kept. Raises `NoRoot`."""
    try:
        certificate = x509.load_pem_x509_certificate(whole)
        key = load_pem_private_key(whole, password=None)
    except (ValueError, TypeError, UnsupportedAlgorithm) as error:
        raise NoRoot from error
    if not isinstance(key, _Key) or key.public_key() != certificate.public_key():
        raise NoRoot
    return Root(certificate, key)


def is_local(address: str) -> bool:
    """Whether an address is one that the band's root may sign for."""
    found = ipaddress.ip_address(address)
    return any(found.version == network.version and found in network for network in LOCAL)


def _named(name: str) -> x509.Name:
    fitting = name.encode()[:NAME_MOST].decode(errors="ignore")
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, fitting)])


def _begun(
    subject: x509.Name, issuer: x509.Name, key: _Key, since: datetime.datetime, until: datetime.datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(since)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs,
        key_cert_sign=signs,
        crl_sign=signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _key_pem(key: _Key) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
