"""What each kind of event asks of the one who signs it, as the audit judges it.

Written a second time on purpose: a mistake in the record's own table must not pass unseen. A test compares the two.
"""

from __future__ import annotations

DECIDERS = frozenset({"reviewer", "engineer_of_record"})
PERSON = frozenset(
    {
        *("key.enrol", "key.revoke", "hold.release", "return", "spot.waive"),
        *("acceptance", "refusal", "release", "seal", "closing.sign", "close"),
    }
)
ROLES = {
    "return": DECIDERS,
    "spot.waive": DECIDERS,
    "refusal": DECIDERS,
    "release": DECIDERS,
    "close": DECIDERS,
    "acceptance": frozenset({"engineer_of_record"}),
}
DOCUMENTS = frozenset({"photo", "tape", "item", "correction"})
NEUTRAL = frozenset({"device.enrol", "device.clock", "key.enrol", "key.revoke", "token"})
PLAIN = frozenset(
    {
        *(
            "drawing",
            "rules",
            "rounds.list",
            "rounds.people",
            "falsework.file",
            "order.file",
            "board",
            "measurement",
            "observation",
        ),
        *(
            "finding",
            "check",
            "review.ask",
            "review.back",
            "remark",
            "spot.ask",
            "measurement.own",
            "lapse",
            "order",
            "pour.log",
            "inspection",
            "propping",
            "closing",
        ),
    }
)
KINDS = PERSON | DOCUMENTS | NEUTRAL | PLAIN
VERSIONS = frozenset({"drawing", "rules", "rounds.list", "rounds.people", "falsework.file", "order.file"})
LAPSES_WITH = VERSIONS | DOCUMENTS | {"return", "spot.ask", "review.back", "propping"}
"""What ends a release that was given before it."""
CLOSING_RESTS_ON = DOCUMENTS | {
    *("closing", "propping", "pour.log", "order", "inspection", "drawing", "falsework.file", "order.file")
}
"""What a signature under the closing covers: one that comes later is signed for anew."""
CLOSING_ROLES = {
    "contractor's engineer": frozenset({"site_engineer", "quality_engineer"}),
    "independent inspector": frozenset({"reviewer"}),
    "engineer of record": frozenset({"engineer_of_record"}),
}
"""Posts that sign the closing -> roles of which the person needs one."""
BOUND_LATER = {
    "falsework_sha256": ("falsework.file", "falsework file"),
    "order_sha256": ("order.file", "order file"),
}
"""What releases bind since a later version of this record: field -> kind of record, and words."""
BOARD_IDS_NEEDED = 4
"""So many markers of an issued board must be seen before a photo is tied to it."""
CLOCK_MAY_BE_OFF_S = 600
"""How far a device's clock may be from a time stamp before the audit tells it. Common practice, no source."""
