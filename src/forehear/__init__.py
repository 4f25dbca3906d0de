"""forehear: hear a loudspeaker beforehand, from one design file, at every seat of the room."""
