"""The limits that checks judge by, as routes take and answer them."""

from __future__ import annotations

from shotcrit.crit.things import Part


class OwnLimit(Part):
    """One limit. key: 'check.limit'; value: the check's own; own: the reviewer's, null where it was never changed; basis: where value comes from."""

    key: str
    name: str
    value: float
    own: float | None
    unit: str
    basis: str
    help: str


class CheckLimits(Part):
    """One check and all that it judges by."""

    check: str
    title: str
    help: str
    limits: list[OwnLimit]


class LimitPut(Part):
    """value: what the check is to judge by from now on; null puts its own value back."""

    value: float | None
