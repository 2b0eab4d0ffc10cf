"""Every kind of mistake: those that the modules of this folder hold in FAULTS."""

import importlib
import pkgutil
from functools import cache

import schemagen.faults as folder
from schemagen.faults.fault_kind import FaultKind


@cache
def all_faults() -> tuple[FaultKind, ...]:
    """All kinds of mistakes, module by module in the order of their names."""
    names = sorted(m.name for m in pkgutil.iter_modules(folder.__path__))
    modules = [importlib.import_module(f"{folder.__name__}.{name}") for name in names]
    return tuple(kind for module in modules for kind in getattr(module, "FAULTS", ()))
