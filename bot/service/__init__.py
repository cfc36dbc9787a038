"""The shell: storage (all SQL), intake (one transaction an event), outbox, timers."""
