"""What a user gets: the wheel, the public names, the examples in the docstrings."""

import doctest
import importlib
import importlib.metadata
import os
import pkgutil
import shutil
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

import ohmscape

ROOT = Path(__file__).resolve().parent.parent
PARTS = ("ohmscape", "cases", "meshes", "solver", "viz")
LITTER = ("__pycache__", "*.pyc", ".*", "*.egg-info", "build", "dist", "*.result")


@pytest.fixture(scope="module")
def tree(tmp_path_factory):
    # A copy: setuptools leaves build/ behind, and takes deleted modules from an older one.
    copy = tmp_path_factory.mktemp("tree") / "ohmscape"
    return shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(*LITTER))


@pytest.fixture(scope="module")
def wheel(tree, tmp_path_factory):
    out = tmp_path_factory.mktemp("wheel")
    command = ["-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(out), str(tree)]
    done = subprocess.run([sys.executable, *command], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    (path,) = out.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """Unpacked wheel, as site-packages would hold it."""
    place = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(place)
    return place


def run_python(*arguments, cwd, path=None):
    environment = os.environ | ({} if path is None else {"PYTHONPATH": str(path)})
    return subprocess.run(
        [sys.executable, *arguments], cwd=cwd, env=environment, capture_output=True, text=True
    )


def test_wheel_holds_every_file_of_the_tree_and_nothing_else(wheel, tree):
    expected = set()
    for part in PARTS:
        inside = Path("ohmscape") if part == "ohmscape" else Path("ohmscape") / part
        files = (path for path in (tree / part).rglob("*") if path.is_file())
        expected |= {(inside / path.relative_to(tree / part)).as_posix() for path in files}
    with zipfile.ZipFile(wheel) as archive:
        held = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert held == expected
    assert "ohmscape/py.typed" in held


def test_wheel_puts_one_name_in_site_packages(wheel):
    # A bare `solver` or `cases` there would shadow other people's modules.
    with zipfile.ZipFile(wheel) as archive:
        top = {name.split("/")[0] for name in archive.namelist()}
    info = {name for name in top if name.endswith(".dist-info")}
    assert top - info == {"ohmscape"}
    assert len(info) == 1


def test_one_version_in_metadata_and_package():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert ohmscape.__version__ == project["version"]
    assert importlib.metadata.version("ohmscape") == project["version"]


def modules():
    for name in PARTS:
        package = name if name == "ohmscape" else f"ohmscape.{name}"
        yield package
        folder = str(ROOT / name)
        for found in pkgutil.walk_packages([folder], prefix=f"{package}."):
            if not found.name.endswith("__main__"):
                yield found.name


MODULES = sorted(set(modules()))


@pytest.mark.parametrize("name", MODULES)
def test_declared_names_can_be_imported(name):
    module = importlib.import_module(name)
    declared = getattr(module, "__all__", ())
    assert not [public for public in declared if not hasattr(module, public)]
    assert len(set(declared)) == len(declared)


def test_unknown_name_is_refused_with_the_known_ones():
    with pytest.raises(AttributeError, match=r"has no attribute 'rodd'; it has .*__version__"):
        _ = ohmscape.rodd


@pytest.mark.parametrize("name", MODULES)
def test_examples_in_docstrings_hold(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0


SHOW = (
    "import ohmscape, ohmscape.solver.model as m, ohmscape.cases as c;"
    "print(ohmscape.__file__, m.__file__, c.__file__, sep='\\n')"
)


def test_checkout_finds_its_own_parts_before_an_installed_wheel(installed):
    # From the repository's root the folder ohmscape/ shadows the installed package; its other
    # parts must come from the checkout too, not from the older copy behind it.
    done = run_python("-c", SHOW, cwd=ROOT, path=installed)
    assert done.returncode == 0, done.stderr
    assert [Path(line) for line in done.stdout.splitlines()] == [
        ROOT / "ohmscape" / "__init__.py",
        ROOT / "solver" / "model.py",
        ROOT / "cases" / "__init__.py",
    ]


def test_installed_wheel_works_away_from_the_checkout(installed, tmp_path):
    done = run_python("-c", SHOW, cwd=tmp_path, path=installed)
    assert done.returncode == 0, done.stderr
    assert all(installed in Path(line).parents for line in done.stdout.splitlines())


@pytest.mark.parametrize("place", ["checkout", "elsewhere"])
def test_python_m_ohmscape_says_how_it_is_used(place, installed, tmp_path):
    cwd = ROOT if place == "checkout" else tmp_path
    done = run_python("-m", "ohmscape", "--help", cwd=cwd, path=installed)
    assert done.returncode == 0, done.stderr
    assert "Usage" in done.stdout
