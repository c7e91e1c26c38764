"""All that touches the file system: bounded reading of plain files, and the one writer.

No other room opens a file or lists a folder (the program's own data under rules/ and grammars/
aside); a test holds that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.files.listing import (
        MAX_LISTED as MAX_LISTED,
        Listing as Listing,
        ListingFullError as ListingFullError,
        files_and_folders as files_and_folders,
        folder_names as folder_names,
        names_in as names_in,
    )
    from advisor.files.output import (
        begins_with as begins_with,
        earlier as earlier,
        exists as exists,
        write_out as write_out,
    )
    from advisor.files.plain import (
        forget as forget,
        open_file as open_file,
        open_plain as open_plain,
        printable as printable,
        remember_stream as remember_stream,
        size_of as size_of,
        unreadable as unreadable,
    )
    from advisor.files.reach import (
        NOT_SHOWN as NOT_SHOWN,
        OUTSIDE as OUTSIDE,
        Reach as Reach,
        reach_of as reach_of,
        real_path as real_path,
    )
    from advisor.files.steps import (
        failure as failure,
        locked as locked,
        remove as remove,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "": "plain steps",
            "listing": "Listing ListingFullError MAX_LISTED files_and_folders folder_names "
            "names_in",
            "steps": "failure locked remove",
            "output": "begins_with earlier exists write_out",
            "plain": "forget open_file open_plain printable remember_stream size_of unreadable",
            "reach": "NOT_SHOWN OUTSIDE Reach reach_of real_path",
        },
    )
