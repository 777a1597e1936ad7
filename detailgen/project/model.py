"""A project and its details: everything that was read, and the road from one detail to its drawing.

Each stage is computed when it is asked for and kept: the objects never change, so neither do the answers.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from detailgen.catalogue.rulebook import RulePack
from detailgen.conditions import CONDITIONS
from detailgen.conditions.base import Condition, Context, DetailParams
from detailgen.conditions.declared import RoofTable, given
from detailgen.conditions.meeting import Meeting
from detailgen.errors import BuildError, GeometryError, InputError, Problem, near_miss
from detailgen.folder import Origin
from detailgen.physics.given import ClimateTable, LoadsTable, WaterTable
from detailgen.project.counted import PlantTable, QuantitiesTable
from detailgen.project.inputs import digest_of
from detailgen.project.lines import Keys
from detailgen.project.shared import SharedSheet, SharedSheetTable
from detailgen.project.source import Source, dotted
from detailgen.project.tables import (
    DxfProfile,
    DxfVersion,
    OfficeTable,
    ProjectTable,
    SheetTable,
    Style,
    scale_of,
)

if TYPE_CHECKING:
    from detailgen.measure import Measures
    from detailgen.rules import Finding
    from detailgen.section.model import Section
    from detailgen.sheet import Fault, Sheet, SheetSettings
    from detailgen.sheet.places import Marks


@dataclass(frozen=True, eq=False, repr=False)
class Project:
    """A detail file that was read without a fault.

    Attributes:
        source: the file.
        info, office, paper: its tables ``[project]``, ``[office]``, ``[sheet]``.
        context: units, catalogue, build-ups and rule packs.
        params: one checked ``[[detail]]`` table each, in the order of the file.
        climate, water, loads, roof: its tables of these names, None where the file has none.
        meetings: where two edges meet, and the detail that shows it.
        marks: which findings are marked on its sheets.
        shared: one checked ``[[shared_sheet]]`` table each.
        counted: its table ``[quantities]``. plants: one checked ``[[plants]]`` table each.
        digest: SHA-256 of all files read and of this version, hexadecimal.
        files: digests of the office's own files among them.
        sheets: number of its first detail and how many there are, where it is a part of a larger set.
        options: what `on_paper` was asked for.
    """

    source: Source
    info: ProjectTable
    office: OfficeTable
    paper: SheetTable
    context: Context
    params: tuple[DetailParams, ...]
    digest: str
    files: tuple[str, ...] = ()
    climate: ClimateTable | None = None
    water: WaterTable | None = None
    loads: LoadsTable | None = None
    roof: RoofTable | None = None
    marks: Marks = "none"
    meetings: tuple[Meeting, ...] = ()
    sheets: tuple[int, int] | None = None
    options: Mapping[str, object] = field(default_factory=dict)
    shared: tuple[SharedSheetTable, ...] = ()
    counted: QuantitiesTable | None = None
    plants: tuple[PlantTable, ...] = ()

    def __repr__(self) -> str:
        return f"Project({self.source.name!r}, details={list(self.details)})"

    @cached_property
    def details(self) -> Mapping[str, Detail]:
        """Details by id, in the order of the file."""
        return {p.id: Detail(self, i) for i, p in enumerate(self.params)}

    @cached_property
    def shared_sheets(self) -> Mapping[str, SharedSheet]:
        """Sheets that several details share, by id, in the order of the file."""
        return {s.id: SharedSheet(self, i) for i, s in enumerate(self.shared)}

    def __getitem__(self, id: str) -> Detail:
        """The detail of that id.

        Raises:
            KeyError: there is none; names a near miss.
        """
        if id not in self.details:
            hint = near_miss(id, self.details)
            raise KeyError(f"there is no detail {id!r}{f'; {hint}' if hint else ''}")
        return self.details[id]

    def findings(self, packs: tuple[RulePack, ...] | None = None) -> tuple[Finding, ...]:
        """What ``[roof]`` says of the whole roof, judged once; rules about details are not among them."""
        from detailgen.rules import judge_roof

        facts: dict[str, object] = {"planted": any(b.covering == "planted" for b in self.context.buildups.values())}
        if self.info.building_height:
            facts["building_height"] = self.info.building_height
        return judge_roof(given(self.roof), facts, self.context.packs if packs is None else packs)

    def on_paper(
        self,
        *,
        scale: str | None = None,
        dpi: int | None = None,
        dxf_profile: DxfProfile | None = None,
        dxf_version: DxfVersion | None = None,
        style: Style | None = None,
        marks: Marks | None = None,
    ) -> Project:
        """The same project with another scale for every detail, or other files: what is None stays as it is.

        Raises:
            InputError: no such scale.
        """
        if scale is not None and scale_of(scale, self.context.catalogue) is None:
            names = [s.name for s in self.context.catalogue.scales.values() if s.system == self.context.units.system]
            message = f"is no scale; allowed: {', '.join(names)}"
            raise InputError([Problem(self.source.name, "--scale", scale, message, near_miss(scale, names))])
        params = self.params if scale is None else tuple(p.model_copy(update={"scale": scale}) for p in self.params)
        wanted = {"dpi": dpi, "dxf_profile": dxf_profile, "dxf_version": dxf_version}
        paper = self.paper.model_copy(update={k: v for k, v in wanted.items() if v is not None})
        office = self.office if style is None else self.office.model_copy(update={"style": style})
        shown = self.marks if marks is None else marks
        asked = {**wanted, "scale": scale, "style": style, "marks": marks}
        options = {**self.options, **{k: v for k, v in asked.items() if v is not None}}
        shared = tuple(s.model_copy(update={"scale": scale}) for s in self.shared) if scale else self.shared
        return replace(
            self, params=params, paper=paper, office=office, marks=shown, options=options, shared=shared
        )

    def written(self, sheet: Sheet, format: str) -> bytes:
        """A sheet as a file in one format of drawings, with the options of this project."""
        from detailgen import output

        options = output.Options(self.paper.dpi, self.paper.dxf_profile, self.paper.dxf_version, self.office.style)
        return output.write(sheet, format, options=options, catalogue=self.context.catalogue)


@dataclass(frozen=True, eq=False, repr=False)
class Detail:
    """One detail of a project.

    Attributes:
        project: the project it belongs to.
        index: its place among ``[[detail]]``, from 0.
    """

    project: Project
    index: int

    def __repr__(self) -> str:
        return f"Detail({self.id!r}, kind={self.params.kind!r})"

    @property
    def params(self) -> DetailParams:
        """Its own table, checked."""
        return self.project.params[self.index]

    @property
    def origin(self) -> Origin:
        """Where its drawings come from, for the memory of the folder."""
        return Origin(self.project.source.path, self.digest)

    @property
    def id(self) -> str:
        """Its id, which is also the name of its files."""
        return self.params.id

    @cached_property
    def sheet_number(self) -> tuple[int, int]:
        """Number of its sheet, and how many there are."""
        first, count = self.project.sheets or (1, len(self.project.params) + len(self.project.shared))
        return first + self.index, count

    @cached_property
    def digest(self) -> str:
        """SHA-256 of everything that its drawings depend on, hexadecimal: they change when it does."""
        p = self.project
        return digest_of(p.source.table, self.index, self.sheet_number, p.files, p.options)

    @property
    def condition(self) -> Condition:
        """The kind of place that it is."""
        return CONDITIONS[self.params.kind]

    def section(self, k: float | None = None) -> Section:
        """The section.

        Args:
            k: section millimetres per paper millimetre for the build that pictures show; None for the true one.

        Raises:
            BuildError: the parameters cannot be built.
            GeometryError: the kernel refused a part.
        """
        return self._true if k is None else self.condition.section(self.params, self.project.context, k)

    @cached_property
    def _true(self) -> Section:
        return self.condition.section(self.params, self.project.context)

    def measures(self) -> Measures:
        """What the polygons of the true section say."""
        return self._measures

    @cached_property
    def _measures(self) -> Measures:
        from detailgen.measure import measure, with_declared

        return with_declared(measure(self._true, self.project.context.catalogue.materials), self.declared)

    @cached_property
    def declared(self) -> Mapping[str, object]:
        """What the file declares of this detail because no section shows it; the detail's own word goes first."""
        return {**given(self.project.info.declared), **given(self.params.declared)}

    def findings(self, packs: tuple[RulePack, ...] | None = None) -> tuple[Finding, ...]:
        """The measures judged by the project's rule packs, or by others."""
        from detailgen.measure import declared_facts
        from detailgen.rules import judge

        section = self._true
        if facts := declared_facts(self.declared):
            section = replace(section, facts={**section.facts, **facts})
        return judge(section, self._measures, self.project.context.packs if packs is None else packs)

    def sheet(self) -> Sheet:
        """The composed sheet."""
        return self._sheet

    @cached_property
    def _sheet(self) -> Sheet:
        return self.composed(self.findings())

    def composed(self, findings: Sequence[Finding], **changes: Any) -> Sheet:
        """A sheet with other findings, or with changed settings.

        Args:
            findings: what is marked, and whose limits stand beside the dimensions.
            changes: fields of `detailgen.sheet.SheetSettings`.
        """
        from detailgen.sheet import compose

        rows, settings = self.project.context.catalogue, replace(self.settings, **changes)
        return compose(self._true, self.section, self._measures, findings, rows, settings)

    def review(self) -> tuple[Fault, ...]:
        """Faults of its sheet that a draughtsman would send back."""
        from detailgen.sheet import review

        sheet = self.sheet()
        return review(sheet, self.section(sheet.k), self._true, self.settings, self.project.context.catalogue)

    @cached_property
    def settings(self) -> SheetSettings:
        """How it is put on paper."""
        from detailgen.project.paper import settings

        return settings(self)

    def over(self, old: Detail, was: Mapping[str, str]) -> Sheet:
        """Its sheet with the outlines of an earlier version under it, grey and dashed.

        Args:
            old: the earlier version.
            was: levels that changed, which get a frame, with what stood there before; a dash for nothing.
        """
        from detailgen.sheet import Former, compose

        rows, settings = self.project.context.catalogue, self.settings
        said = settings.word("former", file=old.project.source.name)
        settings = replace(settings, boxed=tuple(was), general=(*settings.general, said))
        levels = tuple(
            replace(v, label=settings.word("level_was", label=v.label, value=was[v.id]))
            if was.get(v.id, "-") != "-"
            else v
            for v in self._true.levels
        )
        true = replace(self._true, levels=levels)
        former = Former(old.section(), old.section)
        return compose(true, self.section, self._measures, self.findings(), rows, settings, former)

    def render(self, format: str, sheet: Sheet | None = None) -> bytes:
        """The finished file of its sheet, or of another: ``dxf``, ``png``, ``pdf``, ``svg`` or ``json``."""
        if format == "json":
            from detailgen.report.jsonout import encode, sidecar

            parameters = self.params.model_dump(mode="json", by_alias=True, exclude={"quantity"})
            return encode(sidecar(self._true, self._measures, self.findings(), parameters, self.digest))
        return self.project.written(sheet or self.sheet(), format)

    def problem(self, error: BuildError | GeometryError) -> Problem:
        """A refusal to build in words about the file."""
        source, here = self.project.source, ("detail", self.index)
        if isinstance(error, GeometryError):
            message = f"cannot be built: {error} [detail {self.id}]"
            return Problem(source.name, dotted(here), "", message, line=source.line(here))
        keys: Keys = (*here, *parsed(error.key)) if error.key else here
        return Problem(
            source.name, dotted(keys), source.at(keys), f"{error.reason} [detail {self.id}]", line=source.line(keys)
        )


def parsed(key: str) -> Keys:
    """A key path of the code, counted from 0, as a tuple.

    >>> parsed("layers[2].thickness")
    ('layers', 2, 'thickness')
    """
    return tuple(int(n) if n else name for n, name in re.findall(r"\[(\d+)\]|([^.\[\]]+)", key))
