"""The running source, for whoever uses this hub over the network (GNU AGPL, section 13)."""

import functools
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import collaparte

PACKAGE = Path(collaparte.__file__).parent
CHECKOUT = PACKAGE.parents[1]

NOT_SOURCE = frozenset({"__pycache__", "node_modules", ".mypy_cache", ".ruff_cache", ".pytest_cache"})
IN_CHECKOUT = ("server", "client", "docs", "tests", "README.md", "LICENSE", "CHANGELOG.md", "pyproject.toml")


def tablet_folder() -> Path:
    """The folder of the stand's page: in the installed package, or beside it in a checkout."""
    installed = PACKAGE / "tablet"
    return installed if installed.is_dir() else CHECKOUT / "client" / "tablet"


def how_to_trust() -> Path:
    """The how-to about trusting the band's certificate: in the installed package, or in a checkout's docs."""
    installed = PACKAGE / "trust-the-band.md"
    return installed if installed.is_file() else CHECKOUT / "docs" / "how-to" / "trust-the-band.md"


@functools.cache
def source_zip() -> bytes:
    """A zip of what this hub runs. It blocks: call it in a thread."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as archive:
        for path, name in _files():
            archive.write(path, f"collaparte-{collaparte.__version__}/{name}")
    return data.getvalue()


def _files() -> Iterator[tuple[Path, str]]:
    if (CHECKOUT / "pyproject.toml").is_file():
        root, tops = CHECKOUT, [CHECKOUT / top for top in IN_CHECKOUT]
    else:
        root = PACKAGE.parent
        tops = [PACKAGE, root / "collaparte_client", *root.glob("collaparte-*.dist-info")]
    for top in tops:
        for path in [top] if top.is_file() else sorted(top.rglob("*")):
            if path.is_file() and not NOT_SOURCE.intersection(path.parts):
                yield path, path.relative_to(root).as_posix()
