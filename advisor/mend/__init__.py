"""Turns fixes into edits that are consistent together, and writes them so that nothing is lost.

It decides where and how a value is edited, never what is right: that is the rules' business.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.mend.apply import (
        FileChange as FileChange,
        edited_bytes as edited_bytes,
        make_patch as make_patch,
    )
    from advisor.mend.guard import (
        refusal as refusal,
        violations as violations,
    )
    from advisor.mend.overlay import (
        Snapshot as Snapshot,
        real_path as real_path,
    )
    from advisor.mend.target import (
        Located as Located,
        NoPlaceError as NoPlaceError,
        Target as Target,
        locate as locate,
    )
    from advisor.mend.verify import (
        verify_files as verify_files,
    )
    from advisor.mend.write import (
        Job as Job,
        Written as Written,
        backups_of as backups_of,
        check_place as check_place,
        place_notes as place_notes,
        undo_jobs as undo_jobs,
        write_all as write_all,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "apply": "FileChange edited_bytes make_patch",
            "guard": "refusal violations",
            "overlay": "Snapshot real_path",
            "write": "Job Written backups_of check_place place_notes undo_jobs write_all",
            "target": "Located NoPlaceError Target locate",
            "verify": "verify_files",
        },
    )
