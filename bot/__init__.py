"""Bushpost: a hunter's text about a diseased animal becomes a pickup in somebody's hands.

The rooms, from the ground up. Each imports only what stands above it in this list:

    messages    what comes in and what goes out, as frozen values
    reading     PURE: loose words -> exact values, or Unclear with a reason and the choices
    folder      PURE: the files of a programme's folder, one reader for each
    programme   a programme's folder -> frozen values, checked whole
    talk        PURE: the hunter's conversation, one step at a time
    fieldwork   PURE: who is nearest, and how a pickup moves from hand to hand
    evidence    PURE: what a find says about its area
    gateways    one file a carrier: verify, hear, send; imports messages only
    service     the shell: storage, intake (one transaction an event), outbox, timers
    web         Flask: webhook, chat, the coordinator's desk
    __main__    the command line
"""

__version__ = "0.1.0"
