"""Where the files that travel with the program lie, in both kinds of install.

An editable install has `dialogs/` and `demo_conversations/` beside `bot/`; a wheel carries them
inside, in bot/shipped_files/.
"""

from __future__ import annotations

from pathlib import Path

_HERE = Path(__file__).resolve().parent


def shipped(name: str) -> Path:
    """The folder "dialogs" or "demo_conversations"; FileNotFoundError if neither place has it."""
    for folder in (_HERE / "shipped_files" / name, _HERE.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"{name}: not shipped with this install")


def dialog_files(folder: Path | None = None) -> dict[str, str]:
    """The texts of every dialog file by its path inside `dialogs/` ("languages/en.toml")."""
    root = folder or shipped("dialogs")
    return {
        path.relative_to(root).as_posix(): path.read_text(encoding="utf-8")
        for path in sorted(root.rglob("*.toml"))
    }
