"""Bodies that share a part of the soil: one lies in the other and says so, or it is refused."""

from collections.abc import Iterator, Sequence

from ...solver.bodies import Body, lies_in, reaches_into
from ...solver.errors import Problem
from ..reading.documents import Document


def problems_of_nesting(bodies: Sequence[Body], *, document: Document) -> Iterator[Problem]:
    """Bodies that overlap, and bodies that do not lie where they say."""
    by_name = {body.name: body for body in bodies}
    circular = [body for body in bodies if body.name in _outer_of(body, by_name)]
    for number, body in enumerate(bodies):
        path = ("soil", "bodies", number)
        if body in circular:
            msg = f"lies within {body.within!r}, which lies within it; leave one of them out"
            yield document.problem(msg, path=(*path, "within"))
            continue
        outer = by_name.get(body.within or "")
        if outer is not None and not lies_in(body.shape, outer.shape):
            msg = (
                f"does not lie within {outer.name!r} as a whole; make it smaller, or cut it "
                "in two at that body's face"
            )
            yield document.problem(msg, path=(*path, "within"))
    if circular:
        return
    for number, body in enumerate(bodies):
        for earlier in bodies[:number]:
            related = {body.name, earlier.name} & {
                *_outer_of(body, by_name),
                *_outer_of(earlier, by_name),
            }
            if not related and reaches_into(body.shape, earlier.shape):
                msg = (
                    f"shares a part of the soil with {earlier.name!r}; say which lies 'within' "
                    "the other, or move or cut one of them"
                )
                yield document.problem(msg, path=("soil", "bodies", number))


def _outer_of(body: Body, by_name: dict[str, Body]) -> list[str]:
    """Names of the bodies in which one lies, from the nearest out."""
    found: list[str] = []
    while body.within is not None and body.within not in found and body.within in by_name:
        found.append(body.within)
        body = by_name[body.within]
    return found
