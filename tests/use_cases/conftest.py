from tests.support.shop_fixture import shop
from tests.use_cases.inbox_cases import pen

__all__ = ["pen", "shop"]
