"""Records that cross the rooms of the house: frozen, with units in their names, importing nothing of ours.

`problem` says what is wrong in the content, `content` is the series as read, `findings` is what was computed
from it, `vocabulary` is the list of measures, charts and the words the contract fixes.
"""
