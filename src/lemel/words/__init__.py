"""The catalogue: codes in, sentences out. The only place where the house's rooms get words.

Comes in: a `Saying`, `Objection` or `Caution`, a language and the reader's units. Goes out:
one plain sentence. Each room keeps its words in `words/<language>/<room>.toml`. May ask:
values, quantities, errors.
"""

from lemel.words.catalogue import LANGUAGES, codes, placeholders, template
from lemel.words.say import be_strict, remedy, say

__all__ = ["LANGUAGES", "be_strict", "codes", "placeholders", "remedy", "say", "template"]
