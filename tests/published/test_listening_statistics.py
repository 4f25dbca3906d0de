"""Statistics of listening tests against print; section10.yaml names each source. The square is held elsewhere."""

import pytest

from forehear.listen.statistics import (
    chance_of_at_least,
    interval_of_share,
    level_between_db,
    of_many,
    rank_sums,
    signed_ranks,
    strengths,
    two_sided,
)
from forehear.voice.yielding import wilson_interval
from published.printed import cases

CASES = cases("section10.yaml")
ELSEWHERE = {"S10.latin.4": "tests/rooms/test_listen_orders.py"}
HERE = {
    "S10.abx.tail", "S10.abx.ci", "S10.wilcoxon.1", "S10.wilcoxon.3", "S10.friedman.1", "S10.bt.1", "S10.sign",
    "S10.levelmatch",
}  # fmt: skip


def test_every_case_is_used() -> None:
    assert HERE | ELSEWHERE.keys() == CASES.keys()


def test_guessing() -> None:
    case = CASES["S10.abx.tail"]
    for (right, trials), printed in zip(case.inputs["k_n"], case.expected, strict=True):
        assert chance_of_at_least(right, trials) == pytest.approx(printed, abs=case.tolerance["abs"])


def test_interval_of_a_share() -> None:
    case = CASES["S10.abx.ci"]
    found = interval_of_share(case.inputs["k"], case.inputs["n"])
    assert found == pytest.approx(case.expected["cp"], abs=case.tolerance["abs"])
    share = case.inputs["k"] / case.inputs["n"]
    found = wilson_interval(share, case.inputs["n"])  # of the share of builds that come out well
    assert found == pytest.approx(case.expected["wilson"], abs=case.tolerance["abs"])


@pytest.mark.parametrize("name", ["S10.wilcoxon.1", "S10.wilcoxon.3"])
def test_signed_ranks(name: str) -> None:
    case = CASES[name]
    found = signed_ranks(case.inputs["d"])
    case.check(W_plus=found.positive, W_min=min(found.positive, found.negative), p_two_sided=found.p)
    case.check(p_greater=found.p / 2)  # signs are as likely either way, and the sum lies above its middle


def test_rank_sums() -> None:
    case = CASES["S10.friedman.1"]
    found = rank_sums(case.inputs["X"])
    assert found.sums == tuple(case.expected["rank_sums"])
    assert found.exact
    case.check(chi2=found.statistic, p_exact=found.p, p_asym=of_many(found.statistic, len(found.sums)))


def test_strengths() -> None:
    case = CASES["S10.bt.1"]
    found = strengths(case.inputs["wins"])
    assert found.share == pytest.approx(case.expected["pi"], abs=case.tolerance["abs"])
    assert found.log_strength == pytest.approx(
        case.expected["log_strength_re_mean"], abs=case.tolerance["abs"]
    )
    case.check(P_A_beats_C=found.chance(0, 2))


def test_sign_test() -> None:
    case = CASES["S10.sign"]
    found = two_sided(case.inputs["k"], case.inputs["n"])
    assert found == pytest.approx(case.expected, abs=case.tolerance["abs"])


def test_level_of_two_readings() -> None:
    case = CASES["S10.levelmatch"]
    assert level_between_db(*case.inputs["rms"]) == pytest.approx(case.expected, abs=case.tolerance["abs"])
