"""What is kept is known by the modules that made it: no more of them, and no fewer."""

from pathlib import Path

import pytest

from simulator.studies import program_digest as digests
from simulator.studies.program_digest import modules_needed, program_digest

BASIS = "simulator.studies.following.basis_runs"


def test_a_basis_is_known_by_its_physics_and_not_by_its_words() -> None:
    needed = modules_needed(BASIS)
    assert BASIS in needed
    assert "simulator.studies.following.kriging" in needed
    assert sum(".physics." in name for name in needed) > 30
    assert not {name for name in needed if name.split(".")[1] in ("cli", "output", "workspace")}
    assert "simulator.studies.following.forecast" not in needed


def test_an_edited_module_changes_the_hashes_of_all_that_need_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    texts = {
        "maker": "from simulator.room import (\n    law,\n)\n",
        "room/__init__": "",
        "room/law": "def f():\n    import simulator.deep\n",
        "deep": "x = 1\n",
        "aside": "import math\n",
    }
    for name, text in texts.items():
        path = tmp_path / f"{name}.py"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text)
    monkeypatch.setattr(digests, "_PACKAGE", tmp_path)
    digest = program_digest.__wrapped__
    maker, aside = digest("simulator.maker"), digest("simulator.aside")
    (tmp_path / "deep.py").write_text("x = 2\n")
    assert digest("simulator.maker") != maker
    assert digest("simulator.aside") == aside
    with pytest.raises(ModuleNotFoundError, match=r"no module simulator\.never"):
        modules_needed("simulator.never")
