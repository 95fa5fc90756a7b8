"""The page gives the bench sheet, and reads drawings beside the file it was started with."""

from __future__ import annotations

from base64 import b64decode

import pytest
from starlette.testclient import TestClient

from squeeze.page.answers.answer import answer


@pytest.mark.slow
def test_the_sheet_is_a_pdf_of_the_mold_on_the_page(client: TestClient, mold) -> None:
    asked = {"page": "test", "mold": mold(), "name": "a.toml", "paper": "letter"}
    said = client.post("/sheet", json=asked)
    assert said.status_code == 200, said.text
    assert b64decode(said.json()["pdf"]).startswith(b"%PDF")
    assert client.post("/sheet", json=asked | {"paper": "a5"}).status_code == 400


def test_drawings_are_read_beside_the_kept_file_alone(client: TestClient, tmp_path) -> None:
    (tmp_path / "rim.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 90 90">'
        '<circle cx="45" cy="45" r="30"/></svg>'
    )
    text = 'length_mm = 50\n[rubber]\nshore_a = 20\n[block]\ndrawing = "rim.svg"\n'
    asked = {"text": text, "name": "m.toml", "folder": str(tmp_path)}
    status, said = answer(asked | {"do": "open"})
    assert status == 200
    assert len(said["mold"]["block"]["bulges"]) == 4
    assert client.post("/open", json=asked | {"page": "test"}).status_code == 404
    refused = client.post("/read", json=asked | {"page": "test"})
    assert refused.status_code == 422
