"""Both databases, as the service's own tests have them."""

from tests.service.conftest import (  # noqa: F401 - fixtures
    database,
    migrated_file,
    postgres,
    postgres_url,
    sqlite,
)
