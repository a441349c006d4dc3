"""Who may answer what: posts, and the rule that nobody passes above the first round what he built or repaired."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from verifier.rounds.answers import Answer, Event, PutRight, Word
from verifier.rounds.items import CheckItem, CheckList, Role
from verifier.rounds.setting import Person, RoundsSetting


@dataclass(frozen=True, slots=True)
class Acting:
    """The people of a pour and what each of them did to it."""

    people: tuple[Person, ...]
    setting: RoundsSetting
    answers: tuple[Answer, ...]
    events: tuple[Event, ...]

    def person(self, name: str) -> Person | None:
        """Return the person of a name.

        Args:
            name: As written in answers and events.

        Returns:
            The person, or None if nobody of that name is named for the pour.
        """
        return next((p for p in self.people if p.name == name), None)

    def holds(self, name: str, role: Role) -> bool:
        """Tell whether somebody holds a post.

        Args:
            name: As written in answers and events.
            role: The post.

        Returns:
            Whether that person is named with that post.
        """
        person = self.person(name)
        return person is not None and role in person.roles

    def built_anything(self, name: str) -> bool:
        """Tell whether somebody carried out or repaired any part of the work.

        Args:
            name: As written in answers and events.

        Returns:
            Whether that person built a group of work or put an item right.
        """
        person = self.person(name)
        repaired = any(isinstance(e, PutRight) and e.by == name for e in self.events)
        repaired = repaired or any(a.word is Word.PUT_RIGHT and a.by == name for a in self.answers)
        return repaired or (person is not None and bool(person.built))

    def fixers(self, item: CheckItem) -> tuple[str, ...]:
        """Name those who built or repaired an item.

        Args:
            item: The item.

        Returns:
            Names, sorted.
        """
        names = {p.name for p in self.people if item.group in p.built}
        names |= {e.by for e in self.events if isinstance(e, PutRight) and e.item == item.id}
        names |= {a.by for a in self.answers if a.item == item.id and a.word is Word.PUT_RIGHT}
        return tuple(sorted(names))

    def entitled(self, item: CheckItem, number: int) -> tuple[Role, ...]:
        """Name the posts that may answer an item in a round.

        The posts of the round, and the post that closes the item, unless that post already walks an earlier round: a
        surveyor's own levels are seen again by the engineer in the second round.

        Args:
            item: The item.
            number: Number of the round.

        Returns:
            Posts, those of the round first.
        """
        roles = self.setting.rule(number).roles
        earlier = {role for rule in self.setting.round[: number - 1] for role in rule.roles}
        if item.closes in roles or item.closes in earlier:
            return roles
        return (*roles, item.closes)

    def faults(self, item: CheckItem, answer: Answer) -> tuple[str, ...]:
        """Say why an answer that would close an item may not come from this person.

        Args:
            item: The item.
            answer: The answer.

        Returns:
            One sentence per fault; empty if the person may.

        Source:
            IBC 1703.1.1 and 1704 (objective, competent, independent of the contractor); EN 13670 execution classes.
        """
        person = self.person(answer.by)
        if person is None:
            return (f"{answer.by} is not named for this pour",)
        if answer.word is Word.DECIDED:
            if Role.ENGINEER_OF_RECORD in person.roles:
                return ()
            return (f"only the engineer of record decides; {answer.by} is not named so",)
        faults = []
        posts = self.entitled(item, answer.round)
        if not set(posts) & set(person.roles):
            faults.append(f"{answer.by} holds no post that may answer this in round {answer.round}")
        if self.setting.rule(answer.round).not_the_fixer:
            faults += self._not_independent(item, answer, person)
        return tuple(faults)

    def _not_independent(self, item: CheckItem, answer: Answer, person: Person) -> list[str]:
        faults = []
        if person.name in self.fixers(item):
            faults.append(f"{person.name} did or repaired this work and can't pass it above the first round")
        lower = {a.by for a in self.answers if a.item == item.id and a.round < answer.round}
        if person.name in lower and not self.setting.two_posts_allowed:
            faults.append(f"{person.name} answered this item in an earlier round")
        builders = {
            p.firm for p in self.people if p.firm and (p.built or Role.CONTRACTORS_ENGINEER in p.roles)
        }
        acts_as_inspector = Role.INDEPENDENT_INSPECTOR in person.roles and Role.INDEPENDENT_INSPECTOR in (
            self.setting.rule(answer.round).roles
        )
        if acts_as_inspector and person.firm in builders:
            faults.append(f"{person.name} belongs to {person.firm}, which carries out the work")
        return faults


def may_release(
    name: str,
    checklist: CheckList,
    answers: Iterable[Answer],
    events: Iterable[Event],
    people: Iterable[Person],
    *,
    setting: RoundsSetting,
) -> tuple[str, ...]:
    """Say why a person may not release the pour.

    Who built, repaired or checked the work in a round before the last can't release it.

    Args:
        name: Who wants to sign.
        checklist: The list in use.
        answers: All answers of the pour.
        events: All events of the pour.
        people: Those named for the pour.
        setting: Rounds of the project.

    Returns:
        One sentence per reason; empty if the person may.
    """
    acting = Acting(tuple(people), setting, tuple(answers), tuple(events))
    reasons = []
    if not acting.holds(name, Role.ENGINEER_OF_RECORD):
        reasons.append(f"{name} is not named as engineer of record for this pour")
    if acting.built_anything(name):
        reasons.append(f"{name} carried out or repaired part of the work")
    last = len(setting.round)
    checked = sorted({a.item for a in acting.answers if a.by == name and a.round < last})
    if checked and not setting.two_posts_allowed:
        titles = ", ".join(f"{i} {checklist.find(i).item}" for i in checked[:3])
        reasons.append(f"{name} checked the work in an earlier round ({titles})")
    return tuple(reasons)
