from __future__ import annotations

from starlette.testclient import TestClient


def test_the_list_of_an_empty_store_says_how_to_start(client: TestClient) -> None:
    answer = client.get("/repairs")
    assert answer.status_code == 200
    assert "Start the first repair." in answer.text
