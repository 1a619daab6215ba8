"""Files that come in, stopped at a size instead of filling the disk."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.files.uploadhandler import SkipFile, TemporaryFileUploadHandler
from django.http import HttpRequest

_LET_IN = "files_are_taken"


class StopsAtLimit(TemporaryFileUploadHandler):
    """Drops a file once it is larger than UPLOAD_LARGEST; its name stays to be told."""

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        """Begin a file, for somebody who is signed in: strangers fill no disk."""
        if self.request is None or not _may_send_files(self.request):
            raise SkipFile
        super().new_file(*args, **kwargs)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Write the bytes, or drop the file when they are too many."""
        if start + len(raw_data) > settings.UPLOAD_LARGEST:
            _dropped(self.request).append(str(self.file_name))
            self.file.close()
            raise SkipFile
        super().receive_data_chunk(raw_data, start)


def _may_send_files(request: HttpRequest) -> bool:
    return request.user.is_authenticated or getattr(request, _LET_IN, False)


def let_in(request: HttpRequest) -> None:
    """Take files from a stranger who holds a secret of the shop; before the form is read."""
    setattr(request, _LET_IN, True)


def _dropped(request: HttpRequest | None) -> list[str]:
    names: list[str] = request.__dict__.setdefault("files_dropped", [])
    return names


def dropped(request: HttpRequest) -> list[str]:
    """Return the names of files that were too large to take."""
    return _dropped(request)
