"""Keys as a machine types them, each with the moment it was struck."""

from __future__ import annotations

import time

GAP_S = 0.005


def type_fast(page, text):
    """Type on the keyboard of the page, faster than any hand, and end with Enter.

    The moments go with the keys, so that a busy machine between two of them is no slow hand.
    """
    wire = page.context.new_cdp_session(page)
    begun = time.time()
    for at, letter in enumerate((*text, None)):
        key = (
            {"key": "Enter", "code": "Enter", "windowsVirtualKeyCode": 13, "text": "\r"}
            if letter is None
            else {"key": letter, "text": letter}
        )
        for kind in ("keyDown", "keyUp"):
            told = key if kind == "keyDown" else {k: v for k, v in key.items() if k != "text"}
            moment = {"timestamp": begun + at * GAP_S}
            wire.send("Input.dispatchKeyEvent", {"type": kind, **told, **moment})
    wire.detach()
