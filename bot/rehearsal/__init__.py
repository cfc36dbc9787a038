"""A season thrown at a programme in memory: its own machines, invented finds, no database."""
