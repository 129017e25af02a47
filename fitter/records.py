"""Records: small immutable values with named fields, quick to declare.

A frozen dataclass compiles source code for each class, which costs more than half a millisecond when a
module is imported; there are dozens of checks, and the command line starts with all of them. A
:class:`Record` reads its annotations once and has one ``__init__``, ``__eq__`` and ``__repr__`` for all.
Type checkers see the fields as they see those of a dataclass.
"""

from __future__ import annotations

from typing import Any, ClassVar, Self, dataclass_transform

_MISSING = object()


@dataclass_transform(frozen_default=True)
class Record:
    """Base of immutable values: annotated names are fields, a value given in the class is the default.

    Fields of base classes come first. Equal means of one class with equal fields; the hash is kept.

    >>> class Size(Record):
    ...     width: float
    ...     depth: float = 1.0
    >>> Size(2.0)
    Size(width=2.0, depth=1.0)
    >>> Size(2.0) == Size(depth=1.0, width=2.0)
    True
    """

    _fields: ClassVar[dict[str, str]] = {}  # name to annotation as written
    _defaults: ClassVar[dict[str, Any]] = {}

    def __init_subclass__(cls) -> None:
        super().__init_subclass__()
        cls._fields, cls._defaults = {}, {}
        for base in reversed(cls.__mro__[1:]):
            if issubclass(base, Record):
                cls._fields |= base._fields
                cls._defaults |= base._defaults
        for name, annotation in cls.__annotations__.items():
            if "ClassVar" not in str(annotation):
                cls._fields[name] = str(annotation)
                cls._defaults.pop(name, None)
                if name in cls.__dict__:
                    cls._defaults[name] = cls.__dict__[name]

    def __init__(self, *args: Any, **given: Any) -> None:
        names = self._fields
        if len(args) > len(names):
            raise TypeError(f"{type(self).__name__} takes {len(names)} values but {len(args)} were given")
        values = dict(zip(names, args, strict=False))
        for name, value in given.items():
            if name in values or name not in names:
                raise TypeError(f"{type(self).__name__} got {name!r} twice, or has no such field")
            values[name] = value
        for name in names:
            value = values.get(name, _MISSING)
            value = self._defaults.get(name, _MISSING) if value is _MISSING else value
            if value is _MISSING:
                raise TypeError(f"{type(self).__name__} needs a value for {name!r}")
            self.__dict__[name] = value

    def _values(self) -> tuple[Any, ...]:
        """Values of all fields, in order."""
        return tuple(self.__dict__[name] for name in self._fields)

    def replace(self, **changes: Any) -> Self:
        """The same record with other values in some fields."""
        return type(self)(**{**dict(zip(self._fields, self._values(), strict=True)), **changes})

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"{type(self).__name__} is immutable: cannot set {name!r}")

    def __delattr__(self, name: str) -> None:
        raise AttributeError(f"{type(self).__name__} is immutable: cannot delete {name!r}")

    def __eq__(self, other: object) -> bool:
        if self is other:
            return True
        if type(self) is not type(other) or not isinstance(other, Record):
            return NotImplemented
        return self._values() == other._values()

    def __hash__(self) -> int:
        known = self.__dict__.get("_hash")
        if known is None:
            known = self.__dict__["_hash"] = hash((type(self), self._values()))
        return int(known)

    def __repr__(self) -> str:
        fields = ", ".join(f"{n}={v!r}" for n, v in zip(self._fields, self._values(), strict=True))
        return f"{type(self).__qualname__}({fields})"

    def __reduce__(self) -> tuple[type[Self], tuple[Any, ...]]:
        return type(self), self._values()  # leaves kept hashes behind: those of strings differ between runs
