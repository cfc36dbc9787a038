"""The command line's commands, one file each: `add(subparsers)` and `run(args) -> exit code`."""
