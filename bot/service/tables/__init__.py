"""Every table of the service, once, for SQLite and PostgreSQL alike.

Law: a change here is a change of the schema and needs a file in migrations/versions; a test
compares the two. Values of the pure rooms are stored as the JSON that those rooms write, in
text columns, and are read back by them alone. Nothing here is ever queried through a session.
"""

from bot.service.tables.base import Base
from bot.service.tables.chat import ChatCode, ChatLink
from bot.service.tables.desk import (
    Account,
    Audit,
    Findable,
    Invitation,
    RecoveryCode,
    Review,
    SecondFactor,
    Session,
    Tally,
)
from bot.service.tables.evidence import Evidence
from bot.service.tables.field import Age, Custody, Pickup, Specimen, Staff
from bot.service.tables.talk import (
    Answer,
    Archived,
    Carried,
    Content,
    Conversation,
    Effect,
    Event,
    Hunter,
    LongText,
    Photo,
    TextIn,
    TextOut,
    Timer,
)

__all__ = [
    "Account",
    "Age",
    "Answer",
    "Archived",
    "Audit",
    "Base",
    "Carried",
    "ChatCode",
    "ChatLink",
    "Content",
    "Conversation",
    "Custody",
    "Effect",
    "Event",
    "Evidence",
    "Findable",
    "Hunter",
    "Invitation",
    "LongText",
    "Photo",
    "Pickup",
    "RecoveryCode",
    "Review",
    "SecondFactor",
    "Session",
    "Specimen",
    "Staff",
    "Tally",
    "TextIn",
    "TextOut",
    "Timer",
]
