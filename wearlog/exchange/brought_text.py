"""What an import added, known and asked, in words."""

from collections import Counter
from gettext import gettext as _

from wearlog.workshop.bring_in import Brought


def brought_text(brought: Brought) -> str:
    """Return what an import added and what was known already, a sentence a line."""

    def counted(counts: dict[str, int]) -> str:
        return ", ".join(f"{count} {name.replace('_', ' ')}" for name, count in counts.items())

    added = _("Added: {counts}.").format(counts=counted(brought.added)) if brought.added else ""
    known = _("Known already: {counts}.").format(counts=counted(brought.already)) if brought.already else ""
    return "\n".join(line for line in (added or _("Nothing was added."), known) if line)


def questions_text(brought: Brought) -> str:
    """Return the odd values that were brought in all the same, each with its place, one a line."""
    return "\n".join(f"{doubt.where}: {' '.join(doubt.question.split())}" for doubt in brought.doubts)


def question_counts_text(brought: Brought) -> str:
    """Return how many odd values of which kind were brought in; empty if there were none."""
    if not brought.doubts:
        return ""
    kinds = Counter(_(doubt.kind.value) for doubt in brought.doubts)
    return _("Brought in with {n} questions ({kinds}); --questions lists them.").format(
        n=len(brought.doubts), kinds=", ".join(f"{count} {kind}" for kind, count in kinds.most_common())
    )
