"""Bushpost: a hunter's text about a diseased animal becomes a pickup in somebody's hands.

The rooms, from the ground up. Each imports only from itself and from those above it here:

    messages    what comes in and what goes out, as frozen values
    reading     PURE: loose words -> exact values, or Unclear with a reason and the choices
    folder      PURE: the files of a programme's folder, each read and checked on its own
    programme   a programme's folder -> frozen values, checked whole
    scenes      the frame of a reading, built once for a programme
    talk        PURE: the hunter's conversation, one step at a time
    fieldwork   PURE: who is nearest, and how a pickup moves from hand to hand
    evidence    PURE: what a find says about its area
    gateways    one file a carrier: verify, hear, send; imports messages only
    settings    what the environment sets, read once
    shipped     where the dialogs and the demo lie, in either kind of install
    service     the shell: storage, intake (one transaction an event), outbox, timers
    web         Flask: webhook, chat, the coordinator's desk
    rehearsal   a season thrown at a programme in memory
    checking    what `bushpost check` finds wrong with dialogs and a programme
    demo        transcripts, played in memory or through the real webhook
    rehearsal   a season thrown at a programme in memory, weighed against hindsight
    commands    one file for each command
    __main__    the command line
"""

__version__ = "0.1.0"
