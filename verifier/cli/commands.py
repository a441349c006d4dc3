"""All commands together. Heavy rooms are imported inside a command, so that ``verifier --help`` answers at once."""

from __future__ import annotations

from verifier.cli import (
    account_commands,
    close_commands,
    falsework_command,
    log_commands,
    order_commands,
    people_commands,
    photo_commands,
    pour_commands,
    record_commands,
    site_commands,
    stamp_commands,
)
from verifier.cli.options import app

__all__ = [
    "account_commands",
    "app",
    "close_commands",
    "falsework_command",
    "log_commands",
    "order_commands",
    "people_commands",
    "photo_commands",
    "pour_commands",
    "record_commands",
    "site_commands",
    "stamp_commands",
]
