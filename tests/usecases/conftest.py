import pytest

from tests.usecases.site import Site


@pytest.fixture
def site(tmp_path):
    return Site(tmp_path / "store")
