"""What breaks, broken on purpose: `python -m tests.faults --texts 20000 --hunters 2000`."""
