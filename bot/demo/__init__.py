"""The demos: transcripts of whole talks, and the two ways of playing them."""
