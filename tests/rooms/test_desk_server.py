"""The desk's door: who may come in, what is served, and nothing from outside the bundle and the folder."""

import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.websockets import WebSocketDisconnect

from forehear.app.desk.live import Desk
from forehear.app.desk.run import token_of
from forehear.app.desk.server import make_app
from rooms.desks import HOME, LOCK, SOCKET, TestClient, example, page, served, workbench

HTTP = "http"
TOKEN = {"token": LOCK.token}
PAGES = ("/", "/seats", "/front", "/network")
TWINS = ("/seats.json", "/front.json", "/network.json")
CURVE = {**TOKEN, "driver": "tweeter", "kind": "response"}
PLAIN = {"content-type": "text/plain"}


@pytest.fixture
def static(tmp_path: Path) -> Path:
    """A bundle, a secret beside it, and a link from one to the other."""
    bundle = tmp_path / "static"
    bundle.mkdir()
    (bundle / "index.html").write_text("<!doctype html><title>desk</title>", encoding="utf-8")
    (bundle / "desk.js").write_text("0;", encoding="utf-8")
    (tmp_path / "secret.js").write_text("secret", encoding="utf-8")
    (bundle / "link.js").symlink_to(tmp_path / "secret.js")
    return bundle


@pytest.fixture
def client(tmp_path: Path, static: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    app = make_app(Desk(workbench(example(tmp_path))), LOCK, static)
    with TestClient(app, base_url=HOME, follow_redirects=False) as client:
        yield client


@pytest.mark.parametrize("path", PAGES)
def test_a_page_needs_the_token_once(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 403
    assert client.get(path, params={"token": "x" * 32}).status_code == 403
    answer = client.get(path, params=TOKEN)
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/html")
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert client.get(path).status_code == 200, "the cookie opens it now"


@pytest.mark.parametrize("path", TWINS)
def test_a_twin_needs_the_token(client: TestClient, path: str) -> None:
    assert client.get(path).status_code == 403
    with page(client) as reader:
        shown = reader.picture(full=True)
    twin = client.get(path, params=TOKEN).json()
    assert [seat["spread_db"] for seat in twin["seats"]] == [seat["spread_db"] for seat in shown["seats"]]
    assert len(twin["arrays"]["orbit.horizontal_db"]) == 72


@pytest.mark.parametrize("path", [*PAGES, *TWINS, "/static/desk.js", "/nothing"])
def test_every_answer_carries_the_policy(client: TestClient, path: str) -> None:
    headers = client.get(path, params=TOKEN).headers
    policy = dict(part.strip().split(" ", 1) for part in headers["content-security-policy"].split(";"))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(
    "host", ["evil.example", "evil.example:8765", "127.0.0.1", "127.0.0.1:80", "[::1]:8765", ""]
)
def test_another_name_is_turned_away(client: TestClient, host: str) -> None:
    for path in (*PAGES, *TWINS, "/static/desk.js"):
        assert client.get(path, params=TOKEN, headers={"host": host}).status_code == 403
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(SOCKET, headers={"host": host}):
        pass


@pytest.mark.parametrize(
    "origin", [f"{HTTP}://evil.example", "null", f"{HTTP}s://127.0.0.1:8765", f"{HTTP}://127.0.0.1:80"]
)
def test_a_foreign_page_is_turned_away(client: TestClient, origin: str) -> None:
    assert client.get("/seats.json", params=TOKEN, headers={"origin": origin}).status_code == 403
    assert (
        client.put("/curve", params=CURVE, content="x", headers={**PLAIN, "origin": origin}).status_code
        == 403
    )
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(SOCKET, headers={"origin": origin}):
        pass


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost:8765"])
def test_our_own_names_come_in(client: TestClient, host: str) -> None:
    headers = {"host": host, "origin": f"{HTTP}://{host}"}
    assert client.get("/", params=TOKEN, headers=headers).status_code == 200
    with client.websocket_connect(SOCKET, headers=headers) as live:
        assert live.receive_bytes()


@pytest.mark.parametrize(
    "address", ["ws://127.0.0.1:8765/live", "ws://127.0.0.1:8765/live?token=" + "x" * 32]
)
def test_the_socket_needs_the_token(client: TestClient, address: str) -> None:
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(address):
        pass


def test_the_bundle_is_served_with_its_kinds(client: TestClient) -> None:
    answer = client.get("/static/desk.js")
    assert (answer.status_code, answer.text) == (200, "0;")
    assert answer.headers["content-type"].startswith("text/javascript")


@pytest.mark.parametrize(
    "path",
    [
        "/static/../secret.js",
        "/static/%2e%2e/secret.js",
        "/static/..%2fsecret.js",
        "/static/%252e%252e/secret.js",
        "/static/..%5csecret.js",
        "/static//etc/passwd",
        "/static/%2fetc%2fpasswd",
        "/static/link.js",
        "/static/desk.js%00.html",
        "/static/",
        "/static/.",
        "/twin.yaml",
        "/../twin.yaml",
    ],
)
def test_nothing_outside_the_bundle_is_served(client: TestClient, path: str) -> None:
    client.get("/", params=TOKEN)
    request = client.build_request("GET", HOME)
    request.url = request.url.copy_with(raw_path=path.encode())
    answer = client.send(request)
    assert answer.status_code in (403, 404)
    assert "secret" not in answer.text


def test_a_curve_needs_the_token_the_kind_and_a_size(client: TestClient) -> None:
    text = "\n".join(f"{1000 + n} 80" for n in range(40))
    client.get("/", params=TOKEN)
    without = {key: value for key, value in CURVE.items() if key != "token"}
    assert client.put("/curve", params=without, content=text, headers=PLAIN).status_code == 403, (
        "a cookie alone"
    )
    assert (
        client.put("/curve", params=CURVE, content=text, headers={"content-type": "text/html"}).status_code
        == 415
    )
    assert client.put("/curve", params=CURVE, content="8" * 2_000_001, headers=PLAIN).status_code == 413
    assert client.put("/curve", params=CURVE, content=b"\x00\x01", headers=PLAIN).status_code == 422
    assert (
        client.put("/curve", params={**CURVE, "driver": "nobody"}, content=text, headers=PLAIN).status_code
        == 422
    )
    answer = client.put("/curve", params=CURVE, content=text, headers=PLAIN)
    assert answer.status_code == 200
    assert answer.json()["points"] == 40


@pytest.mark.parametrize(("method", "path"), [("POST", "/"), ("DELETE", "/seats.json"), ("POST", "/curve")])
def test_nothing_else_is_taken(client: TestClient, method: str, path: str) -> None:
    assert client.request(method, path, params=TOKEN).status_code in (404, 405)


# --- the command ---


def test_the_token_is_kept_privately_while_it_is_young(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    folder = workbench(example(tmp_path)).folder
    token = token_of(folder)
    assert len(token) >= 32
    assert token_of(folder) == token
    (place,) = (tmp_path / "state" / "forehear" / "desk").glob("*.token")
    assert place.stat().st_mode & 0o077 == 0
    place.chmod(0o644)
    assert token_of(folder) != token, "what others could read is no secret"


def test_the_command_prints_one_line_and_serves_on_loopback_alone(tmp_path: Path) -> None:
    folder = example(tmp_path)
    command = [sys.executable, "-m", "forehear.app.cli", "desk", str(folder), "--no-open"]
    environment = {
        "XDG_STATE_HOME": str(tmp_path / "state"),
        "PYTHONPATH": ":".join(sys.path),
        "PATH": "/usr/bin",
    }
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        line = process.stdout.readline()
        found = re.fullmatch(HTTP + r"://127\.0\.0\.1:(\d+)/\?token=([\w-]{32,})\n", line)
        assert found, line + (process.stderr.read() if not line else "")
        with socket.create_connection(("127.0.0.1", int(found[1])), timeout=10) as open_port:
            assert open_port.getpeername()[0] == "127.0.0.1"
        for other in {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}:
            if not str(other).startswith("127."):
                with pytest.raises(OSError, match="refused"):
                    socket.create_connection((str(other), int(found[1])), timeout=2)
        process.terminate()
        rest, errors = process.communicate(timeout=20)
    assert (rest, errors) == ("", "")


def test_a_served_desk_is_the_one_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    client, _ = served(example(tmp_path), "trio.yaml")
    with client, page(client) as reader:
        assert reader.picture()["candidate"] == "trio.yaml"
