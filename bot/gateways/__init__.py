"""One file a carrier: verify, hear, send. Imports messages only."""
