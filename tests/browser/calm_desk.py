"""``forehear`` whose desk does not try turns and moves by itself: for tests that look at none of it."""

from forehear.app import cli
from forehear.app.desk import live

if __name__ == "__main__":
    live.LEISURE_S = 3600.0
    raise SystemExit(cli.main())
