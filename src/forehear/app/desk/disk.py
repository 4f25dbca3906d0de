"""The files of the folder as they were read or written last, and whether somebody else changed them."""

from collections.abc import Iterable, Mapping, Sequence

from forehear.app.desk.folder import Folder


class ChangedOnDisk(Exception):
    """Files changed on disk after they were read; the user must say which version to keep."""

    def __init__(self, files: Sequence[str]) -> None:
        super().__init__(", ".join(files))
        self.files = tuple(files)


class Disk:
    """What is known of the files of one folder."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self._known: dict[str, str] = {}

    def knows(self, texts: Mapping[str, str]) -> None:
        """Remember that these texts stand on disk."""
        self._known.update(texts)

    def base(self, name: str) -> str | None:
        """Return a file as it was read or written last; None for one that is new."""
        return self._known.get(name)

    def unsaved(self, texts: Mapping[str, str]) -> list[str]:
        """List the files whose text is not what was read or written last."""
        return [name for name, text in texts.items() if self._known.get(name) != text]

    def changed(self, texts: Mapping[str, str]) -> list[str]:
        """List the files that somebody else changed, and not to what would be written anyway."""
        found = []
        for name, text in texts.items():
            there = self._folder.on_disk(name)
            if there not in (self._known.get(name), text):
                found.append(name)
        return found

    def save(self, texts: Mapping[str, str], *, anyway: bool = False) -> list[str]:
        """Write what is unsaved, and `anyway` also over what somebody else changed; return the names written.

        Raises
        ------
        ChangedOnDisk
            When somebody else changed one of these files, unless it is to be written `anyway`.
        """
        unsaved = self.unsaved(texts)
        changed = self.changed(texts if anyway else {name: texts[name] for name in unsaved})
        if changed and not anyway:
            raise ChangedOnDisk(changed)
        names = list(dict.fromkeys([*unsaved, *changed]))
        for name in names:
            self._folder.write(name, texts[name])
            self._known[name] = texts[name]
        return names

    def texts(self, names: Iterable[str]) -> dict[str, str]:
        """Read files again; those that are gone are left out."""
        found = {name: self._folder.on_disk(name) for name in names}
        return {name: text for name, text in found.items() if text is not None}
