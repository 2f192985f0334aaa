"""Make Chromium trust a root as a user of its machine does: in the NSS database of a home folder.

`python trusting.py HOME ROOT.DER`, in a process of its own, since the library can be set up only once in one. It is the
library itself (libnss3, which Chromium on Linux needs to run at all) that is called, so no further tool is needed.
"""

import ctypes
import sys
from ctypes.util import find_library
from pathlib import Path

LIBRARY = find_library("smime3")
"""The part of NSS that reads certificates; None on systems where browsers trust what the system does."""


def trust(home: Path, der: bytes) -> None:
    """Trust a root for TLS servers ("C,,"), as `certutil -A -t C,,` does."""
    nss = ctypes.CDLL(LIBRARY)
    for name in ("PK11_GetInternalKeySlot", "CERT_DecodeCertFromPackage", "CERT_GetDefaultCertDB"):
        getattr(nss, name).restype = ctypes.c_void_p
    database = home / ".pki" / "nssdb"
    database.mkdir(parents=True)
    flags = ctypes.create_string_buffer(64)
    assert nss.NSS_InitReadWrite(f"sql:{database}".encode()) == 0
    slot = ctypes.c_void_p(nss.PK11_GetInternalKeySlot())
    assert nss.PK11_InitPin(slot, None, None) == 0
    certificate = ctypes.c_void_p(nss.CERT_DecodeCertFromPackage(der, len(der)))
    assert certificate
    assert nss.PK11_ImportCert(slot, certificate, ctypes.c_ulong(0), b"root", 0) == 0
    assert nss.CERT_DecodeTrustString(flags, b"C,,") == 0
    assert nss.CERT_ChangeCertTrust(ctypes.c_void_p(nss.CERT_GetDefaultCertDB()), certificate, flags) == 0


if __name__ == "__main__":
    trust(Path(sys.argv[1]), Path(sys.argv[2]).read_bytes())
