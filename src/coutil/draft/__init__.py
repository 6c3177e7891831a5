"""From body and style to panels, written as drafting steps that also print the lesson."""

from coutil.draft.draft import Draft, draft
from coutil.draft.refusal import DraftError
from coutil.draft.steps import Figure, Step
from coutil.draft.style import SettledStyle, settle

__all__ = ["Draft", "DraftError", "Figure", "SettledStyle", "Step", "draft", "settle"]
