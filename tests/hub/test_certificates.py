"""What the hub signs, read back from its own bytes and checked by the standard library's TLS.

Rules: RFC 5280 (X.509), and what browsers on tablets ask of a certificate by a root of one's own: RSA of 2048 bits or
more or an elliptic curve, SHA-2, names in the SAN, serverAuth, at most 825 days; for public ones, 398 (CA/Browser Forum
ballot SC31).
"""

import datetime
import ipaddress
import ssl
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.x509.oid import ExtendedKeyUsageOID

from collaparte.hub.certificates import Leaf, NoRoot, Root, WrongClock, make_leaf, make_root, read_root

HOST = "night-owls-7f3k.local"
NOW = datetime.datetime.now(datetime.UTC)
ADDRESSES = ("192.168.1.5", "10.0.0.9", "172.31.255.1", "169.254.7.7", "fd00::2", "198.51.100.4", "2001:db8::7")
"""As a machine may have them; the last two (RFC 5737, RFC 3849) stand for public ones."""
LOCAL = ADDRESSES[:5]


@pytest.fixture(scope="module")
def root() -> Root:
    return make_root("Night Owls", HOST, NOW)


def read(leaf: Leaf) -> x509.Certificate:
    return x509.load_pem_x509_certificate(leaf.whole)


def shake_hands(root: Root, leaf: Leaf, folder: Path, name: str) -> None:
    """A TLS handshake in memory, as strict as the library can be. Raises `ssl.SSLCertVerificationError`."""
    (folder / "leaf.pem").write_bytes(leaf.whole)
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(folder / "leaf.pem")
    asking = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    asking.verify_flags |= ssl.VERIFY_X509_STRICT
    asking.load_verify_locations(cadata=root.der)
    assert asking.verify_mode is ssl.CERT_REQUIRED and asking.check_hostname
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    server = serving.wrap_bio(to_server, to_client, server_side=True)
    client = asking.wrap_bio(to_client, to_server, server_hostname=name)
    for side in (client, server, client, server):
        try:
            side.do_handshake()
        except ssl.SSLWantReadError:
            continue
    assert client.version() in ("TLSv1.2", "TLSv1.3")


def test_the_root_may_sign_for_this_hub_and_the_room_only(root: Root) -> None:
    of = root.certificate.extensions
    basic = of.get_extension_for_class(x509.BasicConstraints)
    # RFC 5280, 4.2.1.9: no certificate below it may sign.
    assert basic.critical and basic.value.ca and basic.value.path_length == 0
    usage = of.get_extension_for_class(x509.KeyUsage)
    assert usage.critical and usage.value.key_cert_sign and not usage.value.digital_signature
    names = of.get_extension_for_class(x509.NameConstraints)
    # RFC 5280, 4.2.1.10: conforming roots mark name constraints as critical.
    assert names.critical and not names.value.excluded_subtrees
    permitted = names.value.permitted_subtrees or []
    assert {one.value for one in permitted if isinstance(one, x509.DNSName)} == {HOST, "localhost"}
    networks = [one.value for one in permitted if isinstance(one, x509.IPAddress)]
    assert networks and all(network.is_private for network in networks)


def test_the_leaf_keeps_to_the_rules(root: Root) -> None:
    leaf = make_leaf(root, HOST, ADDRESSES, NOW)
    read_back = read(leaf)
    assert isinstance(read_back.public_key(), ec.EllipticCurvePublicKey)
    assert isinstance(read_back.signature_hash_algorithm, SHA256)
    assert (read_back.not_valid_after_utc - read_back.not_valid_before_utc).days <= 398
    # An hour, a day, three weeks: tablets' clocks differ.
    assert read_back.not_valid_before_utc <= NOW - datetime.timedelta(days=21)
    of = read_back.extensions
    assert not of.get_extension_for_class(x509.BasicConstraints).value.ca
    assert list(of.get_extension_for_class(x509.ExtendedKeyUsage).value) == [ExtendedKeyUsageOID.SERVER_AUTH]
    names = of.get_extension_for_class(x509.SubjectAlternativeName).value
    assert set(names.get_values_for_type(x509.DNSName)) == {HOST, "localhost"}
    addresses = {str(one) for one in names.get_values_for_type(x509.IPAddress)}
    assert addresses == {*LOCAL, "127.0.0.1", "::1"}, "public addresses are left out: the root may not sign for them"
    assert all(ipaddress.ip_address(one).is_private for one in addresses)
    # RFC 5280, 4.1.2.2: at most 20 octets, and positive.
    assert 0 < read_back.serial_number < 1 << 159
    assert read(make_leaf(root, HOST, ADDRESSES, NOW)).public_key() != read_back.public_key(), "a new key each time"


@pytest.mark.parametrize("name", [HOST, "localhost", "127.0.0.1", "::1", *LOCAL])
def test_the_standard_librarys_tls_accepts_it(root: Root, tmp_path: Path, name: str) -> None:
    shake_hands(root, make_leaf(root, HOST, ADDRESSES, NOW), tmp_path, name)


@pytest.mark.parametrize("name", ["other.local", "192.168.1.6", "198.51.100.4"])
def test_it_refuses_other_names(root: Root, tmp_path: Path, name: str) -> None:
    with pytest.raises(ssl.SSLCertVerificationError, match="mismatch"):
        shake_hands(root, make_leaf(root, HOST, ADDRESSES, NOW), tmp_path, name)


def test_a_stolen_key_signs_for_nobody_else(root: Root, tmp_path: Path) -> None:
    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
        shake_hands(root, make_leaf(root, "bank.example", (), NOW), tmp_path, "bank.example")


def test_another_bands_root_is_not_enough(root: Root, tmp_path: Path) -> None:
    other = make_root("Night Owls", HOST, NOW)
    with pytest.raises(ssl.SSLCertVerificationError, match=r"(?i)certificate|signature"):
        shake_hands(root, make_leaf(other, HOST, ADDRESSES, NOW), tmp_path, HOST)


def test_a_band_may_have_any_name() -> None:
    for band in ("", "Ä" * 200, "Fünf, zwo + 1 = 8 <&>\\"):
        # RFC 5280, appendix A.1: a common name has 64 characters at most.
        assert 0 < len(make_root(band, HOST, NOW).name) <= 64


def test_what_was_kept_is_read_back(root: Root) -> None:
    again = read_root(root.whole)
    assert (again.der, again.key.private_numbers()) == (root.der, root.key.private_numbers())


def test_what_is_no_root_is_told(root: Root) -> None:
    other = make_root("Night Owls", HOST, NOW)
    for wrong in (b"", b"\x00\xff", root.whole[: len(root.whole) // 2], root.pem, other.whole[:200] + root.pem):
        with pytest.raises(NoRoot):
            read_root(wrong)
    key_of_another = other.whole.removesuffix(other.pem) + root.pem
    with pytest.raises(NoRoot):
        read_root(key_of_another)


def test_a_clock_that_lost_its_time_makes_no_root() -> None:
    with pytest.raises(WrongClock, match="clock says 01 January 1970: set it first"):
        make_root("Night Owls", HOST, datetime.datetime.fromtimestamp(0, datetime.UTC))
