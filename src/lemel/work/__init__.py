"""Long work in a process of its own: the job as JSON in, progress and answer as JSON lines out.

Comes in: one job (a kind and its plain data) on stdin. Goes out: lines `told`, perhaps `preview`,
then `answer`, `fault` or `stopped`. May ask: `plan` and below; never a database, so a job killed
at any moment harms nothing.
"""

from lemel.work.jobs import KINDS, do
from lemel.work.start import Child, start

__all__ = ["KINDS", "Child", "do", "start"]
