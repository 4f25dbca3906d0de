"""What outside callers may rely on, name by name."""

import forehear

SURFACE = ["Complaints", "ForehearError", "load", "predict"]


def test_the_public_surface_is_this_list() -> None:
    assert sorted(forehear.__all__) == SURFACE


def test_every_name_can_be_had() -> None:
    assert all(callable(getattr(forehear, name)) for name in SURFACE)
    assert not hasattr(forehear, "no_such_name")
