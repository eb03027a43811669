"""Why a backup is not made, or does not come back."""

from studio.errors import StudioError


class BackupRefused(StudioError):
    """A file or a database that cannot be used for it; the sentence says what to do."""

    code = "backup_refused"
