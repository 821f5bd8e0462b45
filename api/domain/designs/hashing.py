"""The hash of a design: SHA-256 over the canonical JSON (RFC 8785) of its document."""

from __future__ import annotations

import hashlib
from typing import Any

import rfc8785


def canonical_json(document: dict[str, Any]) -> bytes:
    """The document's bytes in the one order and number form of RFC 8785."""
    return rfc8785.dumps(document)


def document_hash(document: dict[str, Any]) -> str:
    """SHA-256 in lower-case hexadecimal; what a released revision is known by."""
    return hashlib.sha256(canonical_json(document)).hexdigest()
