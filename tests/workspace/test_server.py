"""Hostile and mistaken requests get one clear line, and never touch a file."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from desk_case import CASE, TEXTS, desk_client, edited, lay_out
from starlette.testclient import TestClient

from simulator.workspace.guard import LONGEST_BODY

MOVE = {
    "op": "set",
    "section": "layout",
    "path": ["equipment", "fan 1", "turn"],
    "value": "80 deg",
}


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    lay_out(tmp_path)
    with desk_client(tmp_path) as found:
        yield found


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "127.0.0.2", "", "localhost:x", "0.0.0.0"]
)
def test_a_foreign_host_is_refused(client: TestClient, host: str) -> None:
    answer = client.get("/api/desk", headers={"host": host})
    assert answer.status_code == 400
    assert "127.0.0.1" in answer.json()["error"]


@pytest.mark.parametrize("host", ["127.0.0.1:8123", "localhost", "[::1]:80", "localhost:9"])
def test_its_own_names_are_known(client: TestClient, host: str) -> None:
    assert client.get("/api/desk", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"origin": "http://evil.example"}, 403),
        ({"origin": "null"}, 403),
        ({"origin": "http://127.0.0.1:9999"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"content-type": "text/plain"}, 415),
        ({"content-type": "application/x-www-form-urlencoded"}, 415),
        ({"content-type": ""}, 415),
    ],
)
def test_another_site_cannot_write(
    client: TestClient, headers: dict[str, str], status: int
) -> None:
    given = {"content-type": "application/json", **headers}
    answer = client.post(f"/api/case/{CASE}/edit", content=b"{}", headers=given)
    assert answer.status_code == status


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b'"x"',
        b"{\xff}",
        b'{"revision": NaN}',
        b"[" * 100_000,
        b'{"revision": 1}',
        b'{"revision": true, "operations": []}',
        b'{"revision": 1, "operations": [{"op": "fly"}]}',
    ],
    ids=range(10),
)
def test_malformed_json_gets_one_line(client: TestClient, body: bytes) -> None:
    headers = {"content-type": "application/json"}
    answer = client.post(f"/api/case/{CASE}/edit", content=body, headers=headers)
    assert answer.status_code == 400
    assert "\n" not in answer.json()["error"]


def test_a_hundred_megabytes_are_refused_before_they_are_read(client: TestClient) -> None:
    read = 0

    def body() -> Iterator[bytes]:
        nonlocal read
        for _ in range(100):
            read += 1
            yield b" " * 1_000_000

    headers = {"content-type": "application/json", "content-length": "100000000"}
    answer = client.post(f"/api/case/{CASE}/edit", content=b"{}", headers=headers)
    assert answer.status_code == 413
    answer = client.post(
        f"/api/case/{CASE}/edit", content=body(), headers={"content-type": "application/json"}
    )
    assert answer.status_code == 413
    assert str(LONGEST_BODY)[:1] in answer.json()["error"] or "long" in answer.json()["error"]


@pytest.mark.parametrize(
    "path",
    [
        "/api/case/../../etc/passwd",
        "/api/case/..%2f..%2fetc%2fpasswd",
        "/api/case/%2fetc%2fpasswd",
        "/api/case/home%2f..%2f..%2fx.toml",
        "/api/result/..%2fx.vtkhdf/answer",
        "/api/result/small.toml/answer",
        "/api/result/small.toml/field",
        "/static/..%2fserver.py",
        "/static/%2e%2e/server.py",
        "/static/nothing.js",
        "/api/nothing",
    ],
)
def test_no_path_leads_out(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert "root:" not in answer.text


def test_every_answer_carries_the_content_policy(client: TestClient) -> None:
    for path in ("/", "/static/desk.js", "/api/desk", "/api/nothing"):
        policy = client.get(path).headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "unsafe" not in policy
    assert "access-control-allow-origin" not in client.get("/api/desk").headers


def test_two_windows_that_edit_do_not_lose_either_edit(client: TestClient) -> None:
    start = client.get(f"/api/case/{CASE}").json()["revision"]
    first = edited(client, MOVE, revision=start)
    assert first.status_code == 200
    rename = {"op": "set", "section": "case", "path": ["title"], "value": "Second window"}
    late = edited(client, rename, revision=start)
    assert late.status_code == 409
    assert edited(client, rename).status_code == 200
    view = client.get(f"/api/case/{CASE}").json()
    assert view["title"] == "Second window"
    assert view["data"]["layout"]["equipment"][1]["turn"] == "80 deg"


def test_an_edit_that_does_not_load_is_told_with_file_and_line(
    client: TestClient, tmp_path: Path
) -> None:
    answer = edited(client, {**MOVE, "value": "80"})
    assert answer.status_code == 422
    assert answer.json()["error"].startswith("home/layout.toml:")
    assert (tmp_path / "home/layout.toml").read_text() == TEXTS["home/layout.toml"]


def test_a_new_dwelling_is_furnished_by_forms_alone(client: TestClient, tmp_path: Path) -> None:
    name = client.post("/api/cases", json={"title": "Nothing yet"}).json()["name"]

    def add(section: str, key: str, value: dict[str, Any]) -> Any:
        revision = client.get(f"/api/case/{name}").json()["revision"]
        operation = {"op": "add", "section": section, "path": [key], "value": value}
        body = {"revision": revision, "operations": [operation]}
        answer = client.post(f"/api/case/{name}/edit", json=body)
        assert answer.status_code == 200, answer.text
        return answer.json()

    for number, kind in enumerate(("bed", "dresser", "bookcase")):
        add("dwelling", "furniture", {"kind": kind, "name": f"{kind} {number}", "room": "bedroom"})
    add("layout", "equipment", {"kind": "electric_heater", "name": "heater", "room": "bedroom"})
    add("layout", "equipment", {"kind": "fan", "name": "fan", "room": "bedroom"})
    view = add("layout", "equipment", {"kind": "sensor", "name": "sensor", "room": "bedroom"})
    assert [piece["name"] for piece in view["plan"]["pieces"]] == [
        "bed 0",
        "dresser 1",
        "bookcase 2",
        "heater",
        "fan",
        "sensor",
    ]
    assert sorted(path.name for path in tmp_path.glob("nothing*")) == [
        "nothing_yet.toml",
        "nothing_yet_dwelling.toml",
    ]


def test_a_full_room_takes_no_more(client: TestClient) -> None:
    bed = {"kind": "bed", "name": "bed", "room": "bedroom"}
    answer = edited(
        client, {"op": "add", "section": "dwelling", "path": ["furniture"], "value": bed}
    )
    assert answer.status_code == 422
    assert "no free place" in answer.json()["error"]


def test_a_second_case_shares_the_dwelling_and_nothing_else(
    client: TestClient, tmp_path: Path
) -> None:
    body = {"copy": CASE, "title": "Other layout"}
    name = client.post("/api/cases", json=body).json()["name"]
    files = [file["name"] for file in client.get(f"/api/case/{name}").json()["files"]]
    assert files == [
        "other_layout.toml",
        "home/dwelling.toml",
        "home/other_layout_preparation.toml",
        "home/other_layout_layout.toml",
    ]
    shared = client.get(f"/api/case/{CASE}").json()["files"][1]["shared_with"]
    assert shared == ["other_layout.toml"]
    assert "# the only one" in (tmp_path / "home/other_layout_layout.toml").read_text()


def test_an_edit_tells_of_other_cases_that_no_longer_load_with_it(client: TestClient) -> None:
    other = client.post("/api/cases", json={"copy": CASE, "title": "Other"}).json()["name"]
    body = {
        "revision": client.get(f"/api/case/{other}").json()["revision"],
        "operations": [{"op": "take_out", "name": "boxes", "taken": True}],
    }
    assert client.post(f"/api/case/{other}/edit", json=body).json()["broken"] == []
    gone = {"op": "remove", "section": "dwelling", "path": ["furniture", "boxes"]}
    broken = edited(client, gone).json()["broken"]
    assert [row["name"] for row in broken] == [other]
    assert "unknown piece of furniture 'boxes'" in broken[0]["problem"]
    view = client.get(f"/api/case/{other}").json()
    assert view["plan"] is None
    assert view["problems"]


def test_a_ready_case_is_copied_and_an_own_file_is_kept(client: TestClient, tmp_path: Path) -> None:
    first = client.post("/api/cases", json={"ready": "bedroom_as_found"}).json()["name"]
    own = tmp_path / "bedroom/dwelling.toml"
    own.write_text(own.read_text() + "# mine\n")
    second = client.post("/api/cases", json={"ready": "bedroom_as_found"}).json()["name"]
    assert (first, second) == ("bedroom_as_found.toml", "bedroom_as_found_2.toml")
    assert own.read_text().endswith("# mine\n")
    assert client.post("/api/cases", json={"ready": "../x"}).status_code == 404


def test_a_piece_from_a_mesh_comes_along_with_its_case(client: TestClient, tmp_path: Path) -> None:
    ready = "bedroom_with_lounge_chair"
    name = client.post("/api/cases", json={"ready": ready}).json()["name"]
    assert (tmp_path / "bedroom/lounge_chair.obj").is_file()
    shown = client.get(f"/api/case/{name}").json()
    assert not any("base64" in str(file) for file in shown["files"])
    assert any(piece["name"] == "foam lounge chair" for piece in shown["plan"]["pieces"])
    second = client.post("/api/cases", json={"copy": name, "title": "Second chair"}).json()["name"]
    shown = client.get(f"/api/case/{second}").json()
    assert any(piece["name"] == "foam lounge chair" for piece in shown["plan"]["pieces"])


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ({"title": ""}, 400),
        ({"title": "x", "size": ["1 m"]}, 400),
        ({"title": "x", "size": ["1 kg", "1 m", "2 m"]}, 422),
        ({"title": "x", "walls": "paper"}, 422),
        ({"title": "x", "folder": "/tmp"}, 400),
        ({"copy": "../x.toml", "title": "x"}, 404),
        ({"copy": CASE}, 400),
    ],
)
def test_a_case_that_cannot_begin_writes_nothing(
    client: TestClient, tmp_path: Path, body: dict[str, Any], status: int
) -> None:
    before = sorted(tmp_path.rglob("*"))
    assert client.post("/api/cases", json=body).status_code == status
    assert sorted(tmp_path.rglob("*")) == before


def test_an_item_of_the_list_is_done_by_its_own_keys(client: TestClient) -> None:
    def waiting() -> dict[str, Any]:
        found = client.get(f"/api/case/{CASE}/readiness").json()
        items = [item for part in found["parts"] for item in part["items"]]
        return {item["key"]: item["overrides"] for item in items if item["overrides"]}

    keys = waiting()
    assert keys
    key, overrides = next(iter(keys.items()))
    assert edited(client, {"op": "overrides", "overrides": overrides}).status_code == 200
    assert key not in waiting()
