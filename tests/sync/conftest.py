from tests.support.shop_fixture import shop

__all__ = ["shop"]
