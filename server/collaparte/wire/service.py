"""How a hub is announced on the network: a DNS-SD service (RFC 6763) of a type of our own."""

SERVICE = "_collaparte._tcp.local."
"""Service type; its name fits RFC 6335, section 5.1. SRV carries the HTTP port."""

TXT_MOST = 200
"""Bytes that all TXT strings together may take (RFC 6763, section 6.2)."""

TXT_VERSION = "v"
"""The protocol's number."""
TXT_BAND = "band"
"""The band's name, shortened if it is long."""
TXT_SOCKET = "ws"
"""The port of the sockets."""
TXT_EPOCH = "epoch"
"""The log's epoch."""
