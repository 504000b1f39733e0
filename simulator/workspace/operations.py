"""The edits that the page can ask for: small, and each written into the file that holds its key."""

import tomllib
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from simulator.case.changes import override_within
from simulator.case.locate import KeyPath
from simulator.case.sections import SECTIONS, source_name
from simulator.errors import CaseError
from simulator.workspace import toml_edit
from simulator.workspace.refusals import Refused, first_problem
from simulator.workspace.renaming import renamings

Section = Literal["case", "dwelling", "preparation", "layout", "treatment"]
Key = Annotated[str, Field(min_length=1, max_length=100)] | Annotated[int, Field(ge=0)]
Path = Annotated[tuple[Key, ...], Field(min_length=1, max_length=8)]
#: Where changes to furniture are written: for the day, or for good.
Into = Literal["preparation", "dwelling"]
Texts = dict[str, str]


class _Operation(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        raise NotImplementedError


class SetValue(_Operation):
    """Set a key; null takes it out, so that its default holds."""

    op: Literal["set"]
    section: Section
    path: Path
    value: Any

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        if self.value is None:
            return _changed(texts, main, self.section, self.path, toml_edit.remove)
        return _changed(
            texts, main, self.section, self.path, lambda p: toml_edit.set_value(p, self.value)
        )


class AddEntry(_Operation):
    """Append a table to a list of tables."""

    op: Literal["add"]
    section: Section
    path: Path
    value: dict[str, Any]

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        return _changed(
            texts, main, self.section, self.path, lambda p: toml_edit.add_entry(p, self.value)
        )


class RemoveEntry(_Operation):
    """Remove an entry of a list, or a table."""

    op: Literal["remove"]
    section: Section
    path: Path

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        return _changed(texts, main, self.section, self.path, toml_edit.remove)


class ChangePiece(_Operation):
    """Set keys of a piece of furniture, for the day (the preparation) or in the dwelling itself.

    Where the preparation brings the piece, it is changed there.
    """

    op: Literal["piece"]
    name: str
    values: dict[str, Any]
    into: Into

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        preparation = section_of(texts, main, "preparation")
        brought = [entry.get("name") for entry in preparation.get("furniture", [])]
        changed: Texts = dict(texts)
        for key, value in self.values.items():
            section: Section = self.into
            path: KeyPath = ("change", self.name, key)
            if self.name in brought:
                section, path = "preparation", ("furniture", self.name, key)
            elif self.into == "dwelling":
                path = ("furniture", self.name, key)
            changed = SetValue(op="set", section=section, path=path, value=value).apply(
                changed, main
            )
        return _without_empty_change(changed, main, self.name)


class TakeOut(_Operation):
    """Take a piece of furniture out for the day, or bring it back."""

    op: Literal["take_out"]
    name: str
    taken: bool

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        preparation = section_of(texts, main, "preparation")
        names = [name for name in preparation.get("remove", []) if name != self.name]
        changed: Texts = dict(texts)
        if self.taken:
            names.append(self.name)
            if self.name in preparation.get("change", {}):
                path = ("change", self.name)
                changed = RemoveEntry(op="remove", section="preparation", path=path).apply(
                    changed, main
                )
        value = names or None
        return SetValue(op="set", section="preparation", path=("remove",), value=value).apply(
            changed, main
        )


class MarkDone(_Operation):
    """Set the dotted keys by which an item of a readiness list says that it is done."""

    op: Literal["overrides"]
    overrides: dict[str, Any]

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        changed: Texts = dict(texts)
        for key, value in self.overrides.items():
            section, *rest = key.split(".")
            if section == "dwelling" and len(rest) == 3 and rest[0] == "furniture":
                piece = ChangePiece(
                    op="piece", name=rest[1], values={rest[2]: value}, into="preparation"
                )
                changed = piece.apply(changed, main)
            else:
                override_within(changed, main, key, value)
        return changed


class Rename(_Operation):
    """Give something a new name, everywhere in the case where it is called by it."""

    op: Literal["rename"]
    what: Literal[
        "room",
        "furniture",
        "equipment",
        "doorway",
        "window",
        "circuit",
        "phase",
        "construction",
        "behind",
        "material",
    ]
    old: Annotated[str, Field(alias="from", min_length=1, max_length=60)]
    new: Annotated[str, Field(alias="to", min_length=1, max_length=60)]

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        changed: Texts = dict(texts)
        data = {section: section_of(texts, main, section) for section in SECTIONS}
        for section, change in renamings(data, self.what, self.old, self.new):
            name, table = holder_of(changed, main, section)
            changed[name] = toml_edit.edited(changed[name], toml_edit.below(table, change))
        return changed


class ChangeText(_Operation):
    """Replace the whole text of one of the case's files."""

    op: Literal["text"]
    file: str
    text: Annotated[str, Field(max_length=2_000_000)]

    def apply(self, texts: Mapping[str, str], main: str) -> Texts:
        """Return the texts of the case after the edit."""
        if self.file not in texts:
            raise Refused(f"'{self.file[:60]}' is no file of this case")
        return {**texts, self.file: self.text}


Operation = Annotated[
    SetValue | AddEntry | RemoveEntry | ChangePiece | TakeOut | MarkDone | Rename | ChangeText,
    Field(discriminator="op"),
]
_LIST = TypeAdapter(Annotated[list[Operation], Field(min_length=1, max_length=200)])


def read_operations(value: Any) -> list[Operation]:
    """Return the operations of a request's body; one line if they are none."""
    try:
        return _LIST.validate_python(value)
    except ValidationError as error:
        raise Refused(first_problem(error, "operations")) from None


def apply_all(texts: Mapping[str, str], main: str, operations: list[Operation]) -> Texts:
    """Return the texts after some operations, one after the other."""
    changed: Texts = dict(texts)
    for operation in operations:
        try:
            changed = operation.apply(changed, main)
        except (KeyError, AttributeError, IndexError) as error:
            raise CaseError(f"this edit does not fit the case: {error}") from None
    return changed


def section_of(texts: Mapping[str, str], main: str, section: str) -> dict[str, Any]:
    """Return the values of one section of a case."""
    value = tomllib.loads(texts[main]).get(section, {})
    if isinstance(value, str):
        return tomllib.loads(texts[source_name(main, value)])
    return value if isinstance(value, dict) else {}


def holder_of(texts: Mapping[str, str], main: str, section: str) -> tuple[str, KeyPath]:
    """Return the file that holds a section, and the keys of the section's table within it."""
    if section == "case":
        return main, ()
    value = tomllib.loads(texts[main]).get(section)
    return (source_name(main, value), ()) if isinstance(value, str) else (main, (section,))


def _changed(
    texts: Mapping[str, str], main: str, section: str, path: KeyPath, change: Any
) -> Texts:
    name, table = holder_of(texts, main, section)
    return {**texts, name: toml_edit.edited(texts[name], change((*table, *path)))}


def _without_empty_change(texts: Texts, main: str, name: str) -> Texts:
    """Drop a piece's table of changes that holds nothing any more."""
    changes = section_of(texts, main, "preparation").get("change", {})
    if changes.get(name) == {}:
        return _changed(texts, main, "preparation", ("change", name), toml_edit.remove)
    return texts
