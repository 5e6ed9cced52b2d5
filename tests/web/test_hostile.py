"""What is meant to break in or break down: shown inert, refused in words, and nothing else happens."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from fastapi import FastAPI
from httpx2 import Response

from beltwright.book.opening import create_book, open_book
from beltwright.book.register import BookRegister
from beltwright.desk import jobs, people, record
from beltwright.desk.survey import hand_in, rows_from
from beltwright.plant.identity import now
from beltwright.plant.settings import Settings
from beltwright.web import entry
from tests.bench.drives import SOUND
from tests.desk.hashes import cheap_hashes
from tests.web.browser import HOST, PASSWORD, Browser, Tags, app_over, plant_book
from tests.web.test_people import calls_of

SCRIPTS = (
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "' onfocus='alert(1)' x='", "javascript:alert(1)",
    "</textarea></title><svg onload=alert(1)>", "{{ 7*7 }}{% raw %}${7*7}", "<!--<script>", "\u202e\u2028]]>&lt;b&gt;")


@pytest.fixture(scope="module", autouse=True)
def _quick_hashes() -> Iterator[None]:
    with cheap_hashes():
        yield


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return plant_book(tmp_path)


# --- script in every field -------------------------------------------------------------------------------------------

@pytest.fixture(scope="module", params=SCRIPTS)
def infested(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Browser, str]]:
    """A browser at a book that has a script in every text a person can type, and what it was."""
    script: str = request.param
    path = tmp_path_factory.mktemp("hostile") / "plant.book"
    visible = "".join(sign for sign in script if sign.isprintable())
    with create_book(path, Settings(script, currency=script), by=script) as store:
        drive = {**SOUND, "tag": f"F{script}"[:40], "name": script, "place": f"{script} / {script}", "note": script,
                 "belt_make": script, "motor_frame": script}
        handed = hand_in(store, rows_from([drive, {**SOUND, "tag": "FAN-1", "name": script, "belt_marking": script}]),
                         by=script, at=now())
        assert handed.entered
        for each in handed.entered:
            record.note(store, each, "belt", {"belt": "1", "make": script, "marking": script}, state="as found",
                        by=script, at=now(), words=script)
            reading = record.note(store, each, "force", {"belt": "1", "force": "20 N"}, state="as found", by=script,
                                  at=now(), words=script)
            record.correct(store, reading.id, {"force": "21 N"}, reason=script, by=script, at=now())
            job = jobs.open_job(store, each, "inspect", by=script, at=now(), reason=script)
            step = next(step for step in job.steps if step.can_skip and not step.needs)
            jobs.skip(store, job.id, step.key, by=script, at=now(), reason=script)
        register = BookRegister(store)
        people.add(register, "Kit", "keep", by=script, at=now(), password=PASSWORD)
        person, _ = people.add(register, f"Eve {visible}"[:60], "note", by=script, at=now())
        people.make_token(register, person.id, visible, by=script, at=now())
    with cheap_hashes(), app_over(path) as app:
        browser = Browser(app)
        browser.log_in("Kit")
        yield browser, script


def pages_of(browser: Browser, app: Any, script: str) -> Iterator[tuple[str, Response]]:
    """Every page, its gaps filled with what is in the book."""
    store = app.state.station.book
    tags = [made.drive.tag for made in store.drives()]
    job_ids = [str(job.id) for job in store.jobs()]
    for method, path in sorted(calls_of(app)):
        if method != "GET" or path in ("/log-in", "/book/backup", "/trust/authority.crt"):
            continue
        for place in range(max(len(tags), len(job_ids))):
            tag, job_id = tags[place % len(tags)], job_ids[place % len(job_ids)]
            gaps = {"tag:path": quote(tag, safe=""), "tag": quote(tag.replace("/", "-"), safe=""), "job_id": job_id,
                    "kind": "force" if "readings" in path else "csv", "figure": "span", "key": "belts"}
            address = path
            for gap in re.findall(r"\{([^}]+)\}", path):
                address = address.replace(f"{{{gap}}}", gaps.get(gap, "x"))
            yield address, browser.get(address)
    for address in (f"/?q={quote(script)}", f"/?place={quote(script)}", f"/found?q={quote(script)}",
                    f"/drives/{quote(script, safe='')}", f"/{quote(script, safe='')}", f"/log-in?back={quote(script)}",
                    f"/survey/look?tag={quote(script)}", f"/round?place={quote(script)}"):
        yield address, browser.get(address)


def test_a_script_in_any_text_is_shown_and_does_nothing(infested: tuple[Browser, str]) -> None:
    browser, script = infested
    seen = 0
    for address, answer in pages_of(browser, browser.app, script):
        assert answer.status_code < 500, address
        kind = answer.headers.get("content-type", "").partition(";")[0]
        assert answer.headers["x-content-type-options"] == "nosniff"
        if kind == "image/svg+xml":
            must_be_inert(address, answer.text)
        if kind == "text/html":
            seen += 1
            must_be_inert(address, answer.text)
            assert "'unsafe" not in answer.headers["content-security-policy"]
    assert seen > 20


def must_be_inert(address: str, page: str) -> None:
    """Nothing on a page runs but our own modules, and nothing is fetched from elsewhere."""
    for tag, attrs in Tags(page).tags:
        if tag == "script" and attrs.get("type") != "application/json":
            assert attrs.get("src", "").startswith("/static/"), f"{address}: {tag} {attrs}"
        assert tag not in ("iframe", "object", "embed", "base", "frame"), address
        for name, value in attrs.items():
            assert not name.startswith("on"), f"{address}: {tag} {name}={value}"
            assert name != "style", f"{address}: the policy lets no style stand in a page: {tag} {value}"
            if name in ("href", "src", "action", "formaction", "xlink:href", "data"):
                assert not re.match(r"\s*(javascript|data|vbscript):", value, re.IGNORECASE), f"{address}: {value}"
        assert attrs.get("src") != "x", f"{address}: {tag} {attrs}"
    assert "<script>alert" not in page, address


def test_every_answer_carries_the_policy_whatever_it_is(kit: Browser) -> None:
    for answer in (kit.get("/"), kit.get("/nowhere"), kit.get("/static/sheet.css"), kit.get("/api/v1/plant"),
                   kit.get("/", headers={"Host": "evil.example"}), kit.post("/people"),
                   kit.get("/api/v1/drives?limit=x")):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "frame-ancestors 'none'" in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert "access-control-allow-origin" not in answer.headers
        assert "server" not in answer.headers


# --- names that are paths, and headers -------------------------------------------------------------------------------

@pytest.mark.parametrize("name", ["..", "../../etc/passwd", "..%2f..%2fetc%2fpasswd", "%2e%2e/%2e%2e/etc/passwd",
                                  "....//", "%00", "/etc/passwd", "C:%5Cboot.ini", "%c0%ae%c0%ae/", "~root",
                                  "a" * 8000])
def test_a_name_that_is_a_path_leads_nowhere(kit: Browser, name: str) -> None:
    for address in ("/static/", "/drives/", "/d/", "/calendar/", "/files/", "/api/v1/drives/", "/sheet/empty.",
                    "/book/drives.", "/api/v1/files/"):
        answer = kit.get(address + name)
        led = answer.headers.get("location", "/")
        assert answer.status_code < 500, address + name
        assert led.startswith((f"https://{HOST}/", "/")), address + name
        assert not led.startswith("//"), address + name
        assert "root:" not in answer.text


def test_a_file_s_name_leads_nowhere(kit: Browser, path: Path) -> None:
    before = sorted(path.parent.rglob("*"))
    for name in ("../../../x.csv", "/tmp/x.csv", "x\x00.csv", "..\\x.csv", "con.csv", "<script>.csv"):
        answer = kit.post("/sheet", data={"form_token": kit.token, "by": "Kit"},
                          files={"file": (name, b"tag,name\nPUMP-1,pump\n", "text/csv")})
        assert answer.status_code < 500
        must_be_inert(name, answer.text)
    assert [file for file in sorted(path.parent.rglob("*")) if file not in before and "-wal" not in file.name
            and "-shm" not in file.name] == []


@pytest.mark.parametrize("text", ["x\r\nSet-Cookie: eve=1", "x\nLocation: https://evil.example/", "x\r\n\r\n<script>"])
def test_no_text_becomes_a_header(kit: Browser, path: Path, text: str) -> None:
    answers = [kit.fill("/choices", back=f"/{text}", units="si"), kit.get(f"/log-in?back={quote('/' + text)}"),
               kit.get(f"/drives/{quote(text, safe='')}"), kit.get(f"/d/{quote(text, safe='')}")]
    with open_book(path, write=True) as store:
        hand_in(store, rows_from([{**SOUND, "tag": text[:40]}]), by="Kit", at=now())
    shown = quote(text[:40].replace("/", "-"), safe="")
    answers += [kit.get(f"/drives/{shown}/card.pdf"), kit.get(f"/drives/{shown}/label")]
    for answer in answers:
        assert answer.status_code < 500
        assert "eve" not in answer.headers.get("set-cookie", "")
        assert not answer.headers.get("location", "/").startswith("https://evil")
        assert not any("\n" in value or "\r" in value for value in answer.headers.values())


@pytest.mark.parametrize("host", ["", "evil.example", f"{HOST}.evil.example", "127.0.0.1", "[::1", "[", f"{HOST}@evil",
                                  f"evil#{HOST}", "::1", "a" * 5000, f"{HOST}:443:1"])
def test_under_another_name_there_is_no_book(kit: Browser, host: str) -> None:
    answer = kit.get("/", headers={"Host": host})
    assert answer.status_code == 403
    assert "Pellet" not in answer.text


def test_only_https_s_own_name_with_a_port_is_the_same(kit: Browser) -> None:
    for host in (HOST, f"{HOST}:8433", HOST.upper()):
        assert kit.get("/", headers={"Host": host}).status_code == 200


# --- too much, and malformed -----------------------------------------------------------------------------------------

def endless(piece: bytes, gave: list[int]) -> Iterator[bytes]:
    while True:
        gave.append(len(piece))
        yield piece


@pytest.mark.parametrize(("address", "most"), [("/log-in", entry.MOST_BYTES), ("/people", entry.MOST_BYTES),
                                               ("/api/v1/drives", entry.MOST_BYTES), ("/sheet", entry.MOST_OF_FILES)])
def test_more_than_is_taken_is_refused_by_what_it_says_of_itself(kit: Browser, address: str, most: int) -> None:
    answer = kit.post(address, content=b"x", headers={"Content-Length": str(most + 1),
                                                      "Content-Type": "application/x-www-form-urlencoded"})
    assert answer.status_code == 413
    assert f"{most >> 20} MB" in answer.text


def test_what_never_ends_is_cut_off(kit: Browser) -> None:
    # the test client gathers a body before it sends it, so the app is asked as a server asks it
    import asyncio

    sent: list[Any] = []
    gave: list[int] = []

    async def receive() -> dict[str, Any]:
        gave.append(1 << 16)
        assert sum(gave) < 2 * entry.MOST_BYTES, "it reads on"
        return {"type": "http.request", "body": b"name=" + b"x" * (1 << 16), "more_body": True}

    async def send(message: Any) -> None:
        sent.append(message)

    scope = {"type": "http", "method": "POST", "path": "/log-in", "raw_path": b"/log-in", "query_string": b"",
             "headers": [(b"host", HOST.encode()), (b"cookie", b"visitor=x"),
                         (b"content-type", b"application/x-www-form-urlencoded")],
             "scheme": "http", "client": ("10.0.0.9", 1), "server": (HOST, 80), "http_version": "1.1", "root_path": "",
             "app": kit.app}
    asyncio.run(kit.app(scope, receive, send))  # type: ignore[arg-type]
    assert sent[0]["status"] in (413, 422), "one box of a form may hold less than a form"


@pytest.mark.parametrize(("content_type", "body"), [
    ("multipart/form-data; boundary=x", b"--x\r\nContent-Disposition: form-data; name=a\r\n\r\n1"),
    ("multipart/form-data", b"--x--"), ("multipart/form-data; boundary=" + "x" * 300, b"--x--"),
    ("multipart/form-data; boundary=x", b"--x\r\n" * 5000),
    ("multipart/form-data; boundary=x",
     b"--x\r\nContent-Disposition: form-data; name=\"a\"; filename=\"b\"\r\n\r\n1\r\n" * 60 + b"--x--"),
    ("application/x-www-form-urlencoded", b"&".join(b"a%d=1" % number for number in range(5000))),
    ("application/x-www-form-urlencoded", b"form_token=%ff%fe&name=%00%f0"),
    ("application/json", b"[" * 100_000), ("application/json", b'{"a":' * 50_000), ("text/plain", b"\xff\xfe\x00"),
    ("application/json", b"1" * 10_000), ("", b"x"), ("a/b; charset=nonsense", b"x"),
])
@pytest.mark.parametrize("address", ["/people", "/sheet", "/book/import", "/api/v1/drives", "/api/v1/sync"])
def test_what_is_malformed_is_refused_in_words(kit: Browser, address: str, content_type: str, body: bytes) -> None:
    answer = kit.post(address, content=body, headers={"Content-Type": content_type, "X-Form-Token": kit.token})
    assert 400 <= answer.status_code < 500, answer.text[:300]
    if address.startswith("/api"):
        assert answer.json()["problem"]


def bomb() -> bytes:
    """A workbook of 600 MB in 600 kB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("[Content_Types].xml", "<Types/>")
        with packed.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as part:
            for _ in range(600):
                part.write(b"0" * 1_000_000)
    return out.getvalue()


@pytest.mark.parametrize("make", [
    bomb, lambda: b"PK\x03\x04" + b"\x00" * 100, lambda: b"\x00" * 1000, lambda: b"tag,name\n" + b'"' * 1000,
    lambda: b"tag," * 20_000 + b"\n", lambda: b"tag,name\n" + b"\n".join(b"F-%d,x,y,z" % row for row in range(50)),
    lambda: ("tag,name\n" + "F-1," + "x" * 100_000).encode(), lambda: b""])
def test_a_sheet_that_is_none_is_refused(kit: Browser, make: Callable[[], bytes]) -> None:
    answer = kit.post("/sheet", data={"form_token": kit.token, "by": "Kit"},
                      files={"file": ("drives.xlsx", make(), "application/octet-stream")})
    assert answer.status_code in (413, 422)
    assert "<main" in answer.text


# --- records and exports ---------------------------------------------------------------------------------------------

FORMULAS = ("=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1", "=HYPERLINK(\"https://evil.example\")", "'=1", "=cmd|'/c x'!A0")


def test_no_text_becomes_a_formula_in_an_export(kit: Browser, path: Path) -> None:
    from openpyxl import load_workbook

    with open_book(path, write=True) as store:
        drives = [{**SOUND, "tag": f"FAN-{number + 2}", "name": text, "note": text}
                  for number, text in enumerate(FORMULAS)]
        hand_in(store, rows_from(drives), by="Kit", at=now())
    rows = list(csv.reader(io.StringIO(kit.get("/book/drives.csv").content.decode("utf-8-sig"))))
    assert len(rows) == len(FORMULAS) + 2
    for cell in (cell for row in rows for cell in row):
        assert not re.match(r"[=+@\t\r]|-\D|-.*[^\d.,]", cell), cell
    book = load_workbook(io.BytesIO(kit.get("/book/drives.xlsx").content))
    types = {cell.data_type for sheet in book for row in sheet for cell in row}
    assert "f" not in types


def test_the_same_sent_again_is_noted_once(kit: Browser, path: Path) -> None:
    reading = {"kind": "force", "values": {"belt": 1, "force_n": 20}, "id": "01a21200-0000-7000-8000-000000000001"}
    codes = [kit.post("/api/v1/drives/FAN-1/readings", json=reading).status_code for _ in range(5)]
    assert codes == [201, 200, 200, 200, 200]
    other = {**reading, "values": {"belt": 1, "force_n": 21}}
    assert kit.post("/api/v1/drives/FAN-1/readings", json=other).status_code == 409
    with open_book(path) as store:
        assert len(store.readings(store.drive_by_tag("FAN-1").drive_id)) == 1


def test_nobody_s_name_but_one_s_own_goes_on_record(app: FastAPI, path: Path) -> None:
    pat = Browser(app)
    pat.log_in("Pat")
    pat.cookies.set("name", "Kit", domain=HOST)
    sheet = b"tag,name\nPUMP-1,pump\n"
    pat.post("/sheet", data={"form_token": pat.token, "by": "Kit"}, files={"file": ("a.csv", sheet, "text/csv")})
    with open_book(path) as store:
        assert store.drive_by_tag("PUMP-1").by == "Pat"


def test_an_address_made_up_by_hand_never_breaks_it(kit: Browser) -> None:
    for address in ("/?page=-1", "/?page=99999999999999999999", "/?page=x", "/?state=%00", "/found?q=%ff%fe",
                    "/?q=" + "%25" * 500, "/drives/%ed%a0%80", "/api/v1/drives/%ed%a0%80",
                    "/api/v1/drives?q=%00&place=%00",
                    "/api/v1/drives?after=1e9", "/api/v1/readings/x", "/jobs/x", "/survey/%00", "/labels?tag=%00",
                    "/round/%00", "/drives/FAN-1/readings/%00", "/api/v1/round?place=%00", "/?" + "a=1&" * 3000):
        answer = kit.get(address)
        assert answer.status_code < 500, address


def test_a_book_taken_out_holds_no_way_in(kit: Browser) -> None:
    exported = kit.get("/book/export.jsonl")
    assert "argon2" not in exported.text
    assert all(json.loads(line) for line in exported.text.splitlines())
