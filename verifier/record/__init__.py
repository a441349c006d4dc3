"""The append-only record: signed ledger, sealed bundle and its independent check."""
