"""What commands load: a programme and the dialogs, the shipped ones where none is named."""

from __future__ import annotations

from pathlib import Path

from bot.programme import Programme, load_programme, read_folder
from bot.shipped import dialog_files, shipped
from bot.talk.dialog import Dialog, load_dialog, read_dialogs


def loaded_programme(folder: Path | None) -> Programme:
    """The programme in a folder, or the invented one; ProgrammeError says what is wrong where."""
    return load_programme(read_folder(folder or shipped("demo_conversations") / "programme"))


def loaded_dialog(folder: Path | None) -> Dialog:
    """The dialogs in a folder, or the shipped ones; DialogError says what is wrong where."""
    return load_dialog(read_dialogs(folder) if folder else dialog_files())
