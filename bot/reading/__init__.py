"""PURE. Loose words -> exact values: Found, or Unclear with a reason and the choices."""
