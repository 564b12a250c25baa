"""What stands in a folder of the package, by the name of its file: what is put there is found, and kept in no list."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType


def modules_in(package: str) -> Mapping[str, ModuleType]:
    """Every module (or folder of modules) directly in a package, imported, in the order of their names.

    Raises:
        ImportError: the package has none of that name, or one in it cannot be imported
    """
    names = sorted(found.name for found in iter_modules(import_module(package).__path__))
    return {name: import_module(f"{package}.{name}") for name in names}
