"""``forehear`` whose desk looks for no reasons: listening needs none, and they take both cores for seconds."""

from forehear.app import cli
from forehear.app.desk import live

if __name__ == "__main__":
    live.RESTED_S = 1e6
    raise SystemExit(cli.main())
