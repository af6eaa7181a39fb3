"""The counter's pages: ask, case and hook."""

from collop.web.app import create_app

__all__ = ["create_app"]
