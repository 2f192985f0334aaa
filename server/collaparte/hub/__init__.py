"""Sockets, pages over HTTP, discovery, presence and worker processes."""
