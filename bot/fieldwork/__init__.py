"""PURE. Who is nearest, and how a pickup moves from hand to hand."""
