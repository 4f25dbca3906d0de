"""The bundled example mutated, brief and curves included: it is solved to the end, or every complaint has its words."""

import random
import shutil
from pathlib import Path

import numpy as np
import pytest

from forehear.design import load
from forehear.ground.errors import Complaints, ForehearError
from forehear.ground.reading.documents import complaints_of
from forehear.spine.hearing import Hearing
from forehear.spine.situation import solve_situation
from rooms import test_bad_input as slips

EXAMPLE = Path(__file__).parents[2] / "examples" / "attic-cinema"
FILES = (
    "brief.yaml",
    "twin.yaml",
    "parts/cone-130.yaml",
    "parts/cone-130-response.txt",
    "parts/dome-25-impedance.txt",
)
MUTATIONS = (
    slips.delete_line,
    slips.double_line,
    slips.swap_lines,
    slips.cut_short,
    slips.garble_character,
    slips.delete_character,
    slips.other_unit,
)


@pytest.mark.parametrize("name", FILES)
def test_the_example_mutated_is_solved_or_refused_in_words(name: str, tmp_path: Path) -> None:
    folder, hearing = tmp_path / "attic", Hearing.standard()
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("out"))
    whole = (folder / name).read_text(encoding="utf-8")
    refused = solved = 0
    wordless: list[ForehearError] = []
    for seed in range(40):
        chance = random.Random(seed)
        (folder / name).write_text(chance.choice(MUTATIONS)(whole, chance), encoding="utf-8")
        try:
            situation = solve_situation(load(folder / "twin.yaml"), hearing)
        except (ForehearError, Complaints) as error:
            refused += 1
            wordless += [one for one in complaints_of(error) if not (one.what and one.where and one.cure)]
        else:
            solved += 1
            assert all(np.isfinite(seat.in_room_smoothed_db).all() for seat in situation.seats)
    assert not wordless, [str(one) for one in wordless]
    assert refused, "no slip was noticed"
    assert solved, "no harmless change was accepted"
