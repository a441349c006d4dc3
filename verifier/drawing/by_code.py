"""Words of the drawing that must be words of the code: the code itself, exposure, grades."""

from __future__ import annotations

import difflib
from collections.abc import Mapping

from verifier.codes.code import Code
from verifier.codes.grades import concrete_names, concrete_strength_mpa, steel_grade
from verifier.codes.load import known_codes, load_code
from verifier.drawing.fault import Fault
from verifier.errors import BadInput


def faults_of_code(head: Mapping[str, object]) -> tuple[Code | None, list[Fault]]:
    """Find the pour's code, and check what depends on it in the heading, whatever else of the heading is at fault.

    Args:
        head: The raw table ``[pour]``.

    Returns:
        The code where it is known, and faults of code, exposure and concrete grade.
    """
    title, exposure, concrete = head.get("code"), head.get("exposure"), head.get("concrete")
    if not isinstance(title, str):
        return None, []
    titles = known_codes()
    if title not in titles:
        near = difflib.get_close_matches(title, titles, n=1, cutoff=0.0)[0]
        allowed = f'{", ".join(titles)}; nearest is "{near}"'
        return None, [Fault("pour.code", title, "is no code with values here", allowed)]
    code = load_code(title, units="inch" if head.get("units") == "inch" else "mm")
    faults = _exposure("pour.exposure", exposure, code) if isinstance(exposure, str) else []
    grade = concrete.get("grade") if isinstance(concrete, dict) else None
    if isinstance(grade, str):
        try:
            concrete_strength_mpa(grade, code.concrete)
        except BadInput:
            wrong = f"is no concrete grade of {title}"
            faults.append(Fault("pour.concrete.grade", grade, wrong, concrete_names(code.concrete)))
    return code, faults


def _exposure(key: str, exposure: str, code: Code) -> list[Fault]:
    known = code.code.exposures
    if exposure in known:
        return []
    near = difflib.get_close_matches(exposure, known, n=1, cutoff=0.0)[0]
    wrong = f"is no exposure of {code.code.title}"
    return [Fault(key, exposure, wrong, f'{", ".join(known)}; nearest is "{near}"')]


def faults_by_code(key: str, exposure: str | None, grade: str | None, code: Code | None) -> list[Fault]:
    """Check what one element takes from the code.

    Args:
        key: Where the element stands.
        exposure: Its own exposure, None where it has the pour's.
        grade: Its steel grade, None where it has none.
        code: The pour's code, None where it is not known; then nothing is checked.

    Returns:
        Faults of exposure and steel grade.
    """
    if code is None:
        return []
    faults = [] if exposure is None else _exposure(f"{key}.exposure", exposure, code)
    if grade is not None:
        try:
            steel_grade(grade, code.steel)
        except BadInput as error:
            faults.append(
                Fault(
                    f"{key}.steel.grade",
                    grade,
                    f"is no steel grade of {code.code.title}",
                    error.todo.rstrip("."),
                )
            )
    return faults
