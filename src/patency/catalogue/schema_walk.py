"""What a description may hold at a place: asked of the same JSON Schema that an editor uses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

    from patency.catalogue.nodes import Key, Path

Schema = dict[str, Any]


@dataclass(frozen=True)
class SchemaWalk:
    """Follows paths through a JSON Schema.

    Parameters
    ----------
    schema
        The whole schema, with its definitions.
    """

    schema: Schema

    def keys_at(self, path: Path) -> list[str]:
        """List the keys known at a place.

        Parameters
        ----------
        path
            Keys as they stand in the file; tags of unions (``kind: hose``) choose among the kinds.

        Returns
        -------
        list[str]
            The keys; none where a mapping takes any key.
        """
        return list(dict.fromkeys(key for schema in self._at(path) for key in schema.get("properties", {})))

    def expected_at(self, path: Path) -> str:
        """Say in words what belongs at a place.

        Parameters
        ----------
        path
            As for `keys_at`.

        Returns
        -------
        str
            The description of the field, or what its type is; empty where the schema says nothing.
        """
        found = self._at(path)
        words = self.words_at(path)
        if words:
            return f"one of {', '.join(words)}"
        texts = [schema["description"] for schema in found if "description" in schema]
        examples = [f"such as {schema['examples'][0]}" for schema in found if "examples" in schema]
        return ", ".join(" ".join(text.replace("``", "").split()).rstrip(".") for text in [*texts[:1], *examples[:1]])

    def words_at(self, path: Path) -> list[str]:
        """List the words among which a place chooses.

        Parameters
        ----------
        path
            As for `keys_at`.

        Returns
        -------
        list[str]
            The words; none where any value may stand.
        """
        found = self._at(path)
        return [str(word) for schema in found for word in schema.get("enum", [schema.get("const")]) if word is not None]

    def key_words_at(self, path: Path) -> list[str]:
        """List the words among which the keys of a mapping are chosen.

        Parameters
        ----------
        path
            As for `keys_at`.

        Returns
        -------
        list[str]
            The words; none where any key may stand.
        """
        names = [schema["propertyNames"] for schema in self._at(path) if "propertyNames" in schema]
        return [word for name in names for schema in self._opened(name) for word in schema.get("enum", [])]

    def without_tags(self, path: Path) -> Path:
        """Leave out of a path the tags by which unions are told apart.

        Parameters
        ----------
        path
            As for `keys_at`.

        Returns
        -------
        Path
            The path as it stands in the file.
        """
        found, kept = list(self._opened(self.schema)), []
        for key in path:
            if not any(self._is_of_kind(schema, key) for schema in found):
                kept.append(key)
            found = [inner for schema in found for inner in self._step(schema, key)]
        return tuple(kept)

    def _at(self, path: Path) -> list[Schema]:
        found = list(self._opened(self.schema))
        for key in path:
            found = [inner for schema in found for inner in self._step(schema, key)]
        return found

    def _step(self, schema: Schema, key: Key) -> Iterator[Schema]:
        if self._is_of_kind(schema, key):
            yield schema
            return
        if isinstance(key, int):
            inner = schema.get("items")
        else:
            inner = schema.get("properties", {}).get(key, schema.get("additionalProperties"))
        if isinstance(inner, dict):
            yield from self._opened(inner)

    @staticmethod
    def _is_of_kind(schema: Schema, tag: Key) -> bool:
        key, _, word = str(tag).partition(": ")
        return bool(word) and schema.get("properties", {}).get(key, {}).get("const") == word

    def _opened(self, schema: Schema) -> Iterator[Schema]:
        """Yield a schema and, where it refers to others or offers a choice, those instead."""
        if "$ref" in schema:
            name = schema["$ref"].removeprefix("#/$defs/")
            described = {key: schema[key] for key in ("description",) if key in schema}
            yield from ({**inner, **described} for inner in self._opened(self.schema["$defs"][name]))
            return
        choices = schema.get("anyOf", []) + schema.get("oneOf", []) + schema.get("allOf", [])
        if not choices:
            yield schema
        for choice in choices:
            yield from self._opened(choice)
