"""What outside callers may rely on, name by name."""

import forehear

SURFACE = ["load", "predict"]


def test_the_public_surface_is_this_list() -> None:
    assert sorted(forehear.__all__) == SURFACE
    assert {name for name in dir(forehear) if name in SURFACE} == set(SURFACE)


def test_every_name_can_be_had() -> None:
    assert all(callable(getattr(forehear, name)) for name in SURFACE)
    assert not hasattr(forehear, "no_such_name")
