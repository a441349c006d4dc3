"""The kinds of event that a record may hold, and what each asks of the one who signs it."""

from __future__ import annotations

from dataclasses import dataclass

ROLES = ("site_engineer", "reviewer", "engineer_of_record", "quality_engineer")
"""Roles of a pour, as its drawing file names them."""

_DECIDES = frozenset({"reviewer", "engineer_of_record"})

VERSIONS = frozenset({"drawing", "rules", "rounds.list", "rounds.people", "falsework.file", "order.file"})
"""Kinds that put a version of something into force, under its hash; one without a hash takes it out of force."""

CLOSING_RESTS_ON = frozenset(
    {
        *("closing", "propping", "pour.log", "order", "item", "inspection", "correction", "photo", "tape"),
        *("drawing", "falsework.file", "order.file"),
    }
)
"""Kinds that whoever signs the closing of a pour has seen; one that comes later is not covered by the signature."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of event.

    Attributes:
        say: What it tells, for the timeline.
        person: True if a person's own key must sign; a device's key is then not enough.
        roles: Roles of which the person needs one; empty if any enrolled person may.
        documents: True if whoever does this has documented or corrected the steel, and so can't release the pour.
        neutral: True if it adds nothing to judge, so that it may stand between a reviewed head and its release.
    """

    say: str
    person: bool = False
    roles: frozenset[str] = frozenset()
    documents: bool = False
    neutral: bool = False


KINDS: dict[str, Kind] = {
    "device.enrol": Kind("a device joined", neutral=True),
    "device.clock": Kind("a device's clock was found behind the record", neutral=True),
    "key.enrol": Kind("a person's key was enrolled", person=True, neutral=True),
    "key.revoke": Kind("a key was revoked", person=True, neutral=True),
    "drawing": Kind("a version of the drawing values came into force"),
    "rules": Kind("a version of the rules came into force"),
    "rounds.list": Kind("a version of the inspection list came into force"),
    "rounds.people": Kind("those who walk the rounds were named anew"),
    "falsework.file": Kind("a version of the falsework file came into force"),
    "order.file": Kind("a version of the order file came into force"),
    "board": Kind("a scale board was issued for this pour"),
    "photo": Kind("a photo was received", documents=True),
    "tape": Kind("a tape reading was received", documents=True),
    "measurement": Kind("something was measured on an original"),
    "observation": Kind("something was observed about an original"),
    "item": Kind("an inspection item was answered", documents=True),
    "inspection": Kind("the last inspection round looked"),
    "correction": Kind("steel was corrected", documents=True),
    "hold.release": Kind("a hold point was released", person=True),
    "finding": Kind("a requirement was compared with measurements"),
    "check": Kind("the pour was checked as a whole"),
    "review.ask": Kind("the pour was handed over for review"),
    "review.back": Kind("the pour was taken back from review"),
    "remark": Kind("a remark was made"),
    "return": Kind("an item was sent back, or that was lifted", person=True, roles=_DECIDES),
    "spot.ask": Kind("a further spot was asked for"),
    "spot.waive": Kind("a spot that was asked for was waived", person=True, roles=_DECIDES),
    "measurement.own": Kind("a person measured between two points of an original"),
    "acceptance": Kind(
        "a deviation was accepted in writing", person=True, roles=frozenset({"engineer_of_record"})
    ),
    "refusal": Kind("release of the pour was refused", person=True, roles=_DECIDES),
    "release": Kind("the pour was released", person=True, roles=_DECIDES),
    "lapse": Kind("a release lapsed"),
    "order": Kind("concrete was ordered"),
    "pour.log": Kind("an event of the pour was logged"),
    "propping": Kind("back-props under a floor were placed or taken away"),
    "closing": Kind("something after the pour was written"),
    "closing.sign": Kind("the closing was signed or decided on", person=True),
    "close": Kind("the record was closed", person=True, roles=_DECIDES),
    "seal": Kind("the record was sealed", person=True),
    "token": Kind("a time stamp over a head was received", neutral=True),
}
