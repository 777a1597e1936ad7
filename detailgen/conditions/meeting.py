"""Where two edges of a roof meet: the keys of a detail that shows it, and the finding that one does or none."""

from __future__ import annotations

from dataclasses import dataclass

from pydantic import Field

from detailgen.conditions.base import DetailParams


class MeetingParams(DetailParams):
    """Keys of a ``[[detail]]`` that shows where two edges of the file meet."""

    between: tuple[str, str] = Field(description="ids of the two details that meet here")


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two edges that meet.

    Attributes:
        of: ids of the two details.
        detail: id of the detail that shows how; empty if none does.
    """

    of: tuple[str, str]
    detail: str

    @property
    def sentence(self) -> str:
        """The finding in one sentence."""
        one, other = self.of
        return f"{one} meets {other}: " + (f"shown by {self.detail}" if self.detail else "no detail shows it")
