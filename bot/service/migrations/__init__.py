"""The schema's history, oldest first. A file here is never changed once it has been released."""
