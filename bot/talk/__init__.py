"""PURE. The hunter's conversation, one step at a time."""
