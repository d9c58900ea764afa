"""Headers of every answer: what browsers may load, show and tell about our pages.

References
----------
Content Security Policy Level 3, W3C; Referrer Policy, W3C; Fetch Standard, WHATWG; Clear Site
Data, W3C.
"""

from __future__ import annotations

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'self'; img-src 'self'; object-src 'none'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    # Not no-referrer: browsers would then hide the origin of our own forms from us.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(self), microphone=()",
}

PAGES_STAY_WITH_THE_READER = "private, no-cache"
"""Cache-Control of whatever says nothing else: kept by one browser, asked for anew."""

KEPT_FOR_GOOD = "public, max-age=31536000, immutable"
"""Cache-Control of what changes its address whenever it changes."""

PICTURES_STAY_WITH_THE_READER = "private, max-age=31536000, immutable"
"""Cache-Control of photographs: their address changes with them, and they are nobody else's."""

FORGET_PAGES = {"Clear-Site-Data": '"cache"'}
"""For a device that is shut out: pages and photographs go, what it has not sent yet stays."""
