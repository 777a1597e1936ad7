"""Importing ezdxf and matplotlib as a good guest: nothing is written to the user's home folder, no fonts are searched.

Both libraries scan the machine's fonts when they are first imported and keep the list in the home folder. Nothing here
uses such a list. So when there is no list yet, each gets a short one in a temporary folder. A list that exists is read
as ever; a library that is already imported is left alone. Who needs the other's full font list in the same process
imports that library first.
"""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from types import ModuleType


@contextmanager
def _environment(**changes: str) -> Iterator[None]:
    before = {name: os.environ.get(name) for name in changes}
    os.environ.update(changes)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def import_ezdxf() -> ModuleType:
    """The module `ezdxf`."""
    if "ezdxf" not in sys.modules and not _exists(_user_folder("XDG_CACHE_HOME", ".cache") / "ezdxf"):
        with tempfile.TemporaryDirectory(prefix="detailgen-") as folder, _environment(XDG_CACHE_HOME=folder):
            fonts = Path(folder, "ezdxf", "font_manager_cache.json")
            fonts.parent.mkdir()
            version = _constant("ezdxf", "fonts/font_manager.py", "CURRENT_CACHE_VERSION")
            fonts.write_text(json.dumps({"version": int(version or 2), "font-faces": []}))
            import ezdxf
    import ezdxf

    return ezdxf


def import_matplotlib() -> ModuleType:
    """The module `matplotlib` with everything imported that a raster picture needs."""
    if "matplotlib" in sys.modules or "MPLCONFIGDIR" in os.environ or _has_font_list():
        import matplotlib.backends.backend_agg
    else:
        with tempfile.TemporaryDirectory(prefix="detailgen-") as folder, _environment(MPLCONFIGDIR=folder):
            Path(folder, _font_list_name()).write_text(json.dumps(_font_list()))
            import matplotlib.backends.backend_agg
    import matplotlib.collections
    import matplotlib.figure
    import matplotlib.patches

    return matplotlib


def _has_font_list() -> bool:
    if sys.platform.startswith(("linux", "freebsd")):
        cache = _user_folder("XDG_CACHE_HOME", ".cache") / "matplotlib"
        config = _user_folder("XDG_CONFIG_HOME", ".config") / "matplotlib"
    else:
        cache = config = _user_folder("MPLCONFIGDIR", ".matplotlib")
    return _exists(cache / _font_list_name()) and _exists(config)


def _font_list_name() -> str:
    return f"fontlist-v{_constant('matplotlib', 'font_manager.py', '__version__') or '0'}.json"


def _font_list() -> dict[str, object]:
    """A list in matplotlib's form of the one font that comes with it."""
    entry = {
        "fname": "fonts/ttf/DejaVuSans.ttf",
        "name": "DejaVu Sans",
        "style": "normal",
        "variant": "normal",
        "weight": 400,
        "stretch": "normal",
        "size": "scalable",
        "__class__": "FontEntry",
    }
    return {
        "_version": _constant("matplotlib", "font_manager.py", "__version__"),
        "_FontManager__default_weight": "normal",
        "default_size": None,
        "defaultFamily": {"ttf": "DejaVu Sans", "afm": "Helvetica"},
        "afmlist": [],
        "ttflist": [entry],
        "__class__": "FontManager",
    }


def _constant(package: str, file: str, name: str) -> str:
    """A constant of a module that may not be imported yet; empty if it is not found."""
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        return ""
    text = Path(spec.submodule_search_locations[0], file).read_text(encoding="utf-8")
    found = re.search(rf"^\s*{name} = ['\"]?([^'\"\s]+)", text, re.MULTILINE)
    return found[1] if found else ""


def _user_folder(variable: str, usual: str) -> Path:
    set_by_user = os.environ.get(variable)
    return Path(set_by_user) if set_by_user else Path(os.path.expanduser("~"), usual)


def _exists(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:
        return False
