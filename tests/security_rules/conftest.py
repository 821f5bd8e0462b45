from tests.routes.office.conftest import fill_again, filled_data, lead, site

__all__ = ["fill_again", "filled_data", "lead", "site"]
