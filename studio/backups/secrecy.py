"""Backups that only the holder of a key can read, in the open format age-encryption.org/v1."""

from pathlib import Path

import pyrage

from studio.backups.errors import BackupRefused

SUFFIX = ".age"
NO_KEY = "BACKUP_KEY is neither a public key (age1…) nor a secret one (AGE-SECRET-KEY-1…)."


def lock(source: Path, target: Path, key: str) -> None:
    """Encrypt a file for a key, of which the public half is enough."""
    try:
        recipient = (
            pyrage.x25519.Recipient.from_str(key)
            if key.startswith("age1")
            else pyrage.x25519.Identity.from_str(key).to_public()
        )
    except (pyrage.RecipientError, pyrage.IdentityError):
        raise BackupRefused(NO_KEY) from None
    pyrage.encrypt_file(str(source), str(target), [recipient])


def unlock(source: Path, target: Path, key: str) -> None:
    """Decrypt a file with the secret key."""
    try:
        identity = pyrage.x25519.Identity.from_str(key)
        pyrage.decrypt_file(str(source), str(target), [identity])
    except pyrage.IdentityError:
        raise BackupRefused(
            f"{source.name} is encrypted. Set BACKUP_KEY to the secret key (AGE-SECRET-KEY-1…) "
            "that belongs to the one it was made with."
        ) from None
    except pyrage.DecryptError:
        raise BackupRefused(
            f"{source.name} was not encrypted for this BACKUP_KEY, or the file is damaged."
        ) from None


def new_key() -> tuple[str, str]:
    """Return a new public key and the secret one that belongs to it."""
    identity = pyrage.x25519.Identity.generate()
    return str(identity.to_public()), str(identity)
