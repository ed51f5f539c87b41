"""What sort of drive a file lies on; SQLite's write-ahead log needs one of this machine's own."""

import ctypes
import os
import sys
from collections.abc import Iterable
from pathlib import Path

#: Types of file systems on other machines, as the kernel names them (proc_pid_mounts(5), mount(8)).
NETWORK_TYPES = frozenset(
    {
        *("nfs", "nfs4", "cifs", "smb3", "smbfs", "smb2", "ncpfs", "afs", "coda", "9p", "ceph", "glusterfs"),
        *("lustre", "davfs", "webdav", "afpfs", "fuse.sshfs", "fuse.davfs", "fuse.glusterfs", "fuse.ceph"),
        *("fuse.rclone", "fuse.gvfsd-fuse", "fuse.smbnetfs", "fuse.curlftpfs", "fuse.s3fs"),
    }
)
#: What Windows calls a drive on another machine (`GetDriveTypeW`, DRIVE_REMOTE).
_WINDOWS_REMOTE = 4


def is_on_network(path: Path) -> bool:
    """Whether a file, or the folder where it will be, lies on another machine; False where nobody can say."""
    if sys.platform == "win32":  # pragma: no cover
        return _is_windows_remote(path)
    return drive_type(path, _mounts()) in NETWORK_TYPES


def drive_type(path: Path, mounts: Iterable[str]) -> str:
    r"""Return the type of the file system that a path lies on; empty if none of the mounts holds it.

    Parameters
    ----------
    path
        Any path; links are followed.
    mounts
        Lines as in ``/proc/self/mounts``: device, place, type and more; spaces in a place are ``\040``.

    References
    ----------
    Linux manual pages, proc_pid_mounts(5) and fstab(5).

    Examples
    --------
    >>> lines = ["/dev/sda1 / ext4 rw 0 0", "filer:/depot /opt nfs4 rw 0 0"]
    >>> drive_type(Path("/opt/workshop.sqlite"), lines), drive_type(Path("/var"), lines)
    ('nfs4', 'ext4')
    """
    real = Path(os.path.realpath(path))
    best, found = -1, ""
    for line in mounts:
        words = line.split()
        if len(words) < 3:
            continue
        place = Path(words[1].replace("\\040", " ").replace("\\011", "\t").replace("\\134", "\\"))
        # Of two mounts at one place the later one is seen.
        if len(place.parts) >= best and real.is_relative_to(place):
            best, found = len(place.parts), words[2]
    return found


def _mounts() -> list[str]:
    try:
        return Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return []


def _is_windows_remote(path: Path) -> bool:  # pragma: no cover
    drive = os.path.splitdrive(os.path.realpath(path))[0]
    if drive.startswith("\\\\"):
        return True
    windows = getattr(ctypes, "windll", None)
    return windows is not None and windows.kernel32.GetDriveTypeW(f"{drive}\\") == _WINDOWS_REMOTE
