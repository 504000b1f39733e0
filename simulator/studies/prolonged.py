"""A case whose heat goes on: so that places which are late have a time as well."""

from dataclasses import replace

from simulator.case.case import Case

#: Runs go on for as long again as the heat is planned, but to no more than this [s].
LONGEST = 24.0 * 3600.0


def prolonged(case: Case) -> Case:
    """Return the case with its heat going on for as long again, and nothing after it.

    Phases and changes that would come after the planned end of the heat are left out.
    """
    end = case.treatment.heat_ends
    plan = replace(
        case.treatment,
        horizon=max(end, min(2.0 * end, LONGEST)),
        phases=tuple(phase for phase in case.treatment.phases if phase.start < end),
    )
    changes = tuple(
        replace(change, case=replace(change.case, treatment=plan))
        for change in case.changes
        if change.time < end
    )
    return replace(case, treatment=plan, changes=changes)
