"""Flask: the webhook, the chat, the coordinator's desk."""
