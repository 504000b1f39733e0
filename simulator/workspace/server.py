"""The desk over HTTP: the page's files, and its requests turned into calls of the desk."""

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, Response, StreamingResponse
from starlette.routing import BaseRoute, Route

from simulator.errors import CaseError, RoomsoakError
from simulator.output.viewer.script import viewer_files
from simulator.units import System
from simulator.workspace import answers, forms, offers, readiness_view, view
from simulator.workspace.desk import Desk
from simulator.workspace.guard import BodyTooLong, Guard
from simulator.workspace.new_case import NewDwelling
from simulator.workspace.operations import read_operations
from simulator.workspace.refusals import NotThere, Refused, first_problem
from simulator.workspace.runs import RESULT_ENDING
from simulator.workspace.shipped import shipped_cases

STATIC = Path(__file__).parent / "static"

#: Longest wait of an event stream before it says that it is alive [s].
_BEAT = 15.0

Handler = Callable[[Desk, Request, dict[str, Any]], Any]


def application(desk: Desk) -> Starlette:
    """Return the application that serves one desk; it ends what runs when it is shut down."""

    @contextlib.asynccontextmanager
    async def life(_: Starlette) -> AsyncIterator[None]:
        yield
        await run_in_threadpool(desk.close)

    return Starlette(
        routes=_routes(desk),
        middleware=[Middleware(Guard)],
        exception_handlers={
            RoomsoakError: _refused,
            HTTPException: _no_such_page,
            BodyTooLong: _too_long,
        },
        lifespan=life,
    )


def _routes(desk: Desk) -> list[BaseRoute]:
    def route(path: str, handler: Handler, method: str = "GET") -> Route:
        async def endpoint(request: Request) -> Response:
            body = await _body(request) if method != "GET" else {}
            found = await run_in_threadpool(handler, desk, request, body)
            return found if isinstance(found, Response) else JSONResponse(found)

        return Route(path, endpoint, methods=[method])

    return [
        Route("/", _page),
        Route("/static/{name}", _static),
        Route("/viewer/{name}", _viewer),
        Route("/api/events", _events(desk)),
        route("/api/desk", _desk),
        route("/api/forms", lambda _, request, __: forms.all_forms(_units(request))),
        route("/api/cases", _new, "POST"),
        route("/api/case/{name:path}/edit", _edit, "POST"),
        route("/api/case/{name:path}/undo", _undo, "POST"),
        route("/api/case/{name:path}/redo", _redo, "POST"),
        route("/api/case/{name:path}/readiness", _readiness),
        route("/api/case/{name:path}", lambda desk, request, _: desk.view(_name(request))),
        route("/api/runs", lambda desk, _, __: {"runs": desk.runs.shown()}),
        route("/api/runs", _run, "POST"),
        route("/api/runs/{number:int}/cancel", _cancel, "POST"),
        route("/api/results", lambda desk, _, __: {"results": answers.results_in(desk.folder)}),
        route("/api/result/{name:path}/answer", _answer),
        route("/api/result/{name:path}/room", _room),
        route("/api/compare", _compare),
        route("/api/result/{name:path}/sheet", _sheet),
        route("/api/lesson/{name:path}", _lesson),
        route("/api/scale", lambda _, request, __: offers.scale(_units(request))),
    ]


async def _body(request: Request) -> dict[str, Any]:
    """Return a request's body, a table of JSON."""
    try:
        found = json.loads(await request.body(), parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise Refused(f"the body is not JSON: {' '.join(str(error).split())[:120]}") from None
    if not isinstance(found, dict):
        raise Refused("the body must be a JSON object, {...}")
    return found


def _no_number(word: str) -> float:
    raise ValueError(f"{word} is no number of JSON")


def _refused(_: Request, error: Exception) -> Response:
    """Answer what a user can cause: one line each, with the status that its kind has."""
    status = error.status if isinstance(error, Refused) else 500
    if isinstance(error, CaseError):
        status = 422
    return JSONResponse({"error": str(error), "lines": str(error).splitlines()}, status)


def _no_such_page(_: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return JSONResponse({"error": f"there is nothing here: {error.detail}"}, error.status_code)


def _too_long(_: Request, __: Exception) -> Response:
    return JSONResponse({"error": "the body is too long"}, 413)


async def _page(_: Request) -> Response:
    return FileResponse(STATIC / "desk.html")


async def _static(request: Request) -> Response:
    """Return a file of the page; only names that are listed there are known."""
    name = str(request.path_params["name"])
    if name not in {path.name for path in STATIC.iterdir() if path.is_file()}:
        raise NotThere("there is no such file of the page")
    return FileResponse(STATIC / name)


async def _viewer(request: Request) -> Response:
    """Return a module of the viewer in the browser."""
    found = viewer_files().get(str(request.path_params["name"]))
    if found is None:
        raise NotThere("there is no such file of the viewer")
    return Response(found, media_type="text/javascript")


def _events(desk: Desk) -> Callable[[Request], Any]:
    async def events(request: Request) -> Response:
        loop = asyncio.get_running_loop()
        waiting: asyncio.Queue[dict[str, Any]] = asyncio.Queue()
        stop = desk.listen(lambda what: _put(loop, waiting, what))
        waiting.put_nowait({"type": "runs", "runs": desk.runs.shown()})
        if desk.is_ending:
            waiting.put_nowait({"type": "end"})
        return StreamingResponse(_stream(request, waiting, stop), media_type="text/event-stream")

    return events


def _put(
    loop: asyncio.AbstractEventLoop, waiting: "asyncio.Queue[dict[str, Any]]", what: dict[str, Any]
) -> None:
    with contextlib.suppress(RuntimeError):  # the loop has ended
        loop.call_soon_threadsafe(waiting.put_nowait, what)


async def _stream(
    request: Request, waiting: "asyncio.Queue[dict[str, Any]]", stop: Callable[[], None]
) -> AsyncIterator[str]:
    try:
        while not await request.is_disconnected():
            try:
                what = await asyncio.wait_for(waiting.get(), _BEAT)
            except TimeoutError:
                yield ": still here\n\n"
                continue
            yield f"data: {json.dumps(what, ensure_ascii=False)}\n\n"
            if what["type"] == "end":
                break
    finally:
        stop()


def _desk(desk: Desk, _: Request, __: dict[str, Any]) -> dict[str, Any]:
    return {
        "folder": desk.folder.root.name or str(desk.folder.root),
        "first": desk.first,
        "recovered": desk.recovered,
        "cases": view.cases_in(desk.folder),
        "ready": shipped_cases(),
    }


def _new(desk: Desk, request: Request, body: dict[str, Any]) -> dict[str, Any]:
    """Begin a case: a new dwelling, a copy of a ready one, or a second case beside one."""
    if "ready" in body:
        return {"name": desk.copy_ready(_text(body, "ready"))}
    if "copy" in body:
        layout = _text(body, "layout") if "layout" in body else ""
        return {"name": desk.copy(_text(body, "copy"), _text(body, "title"), layout)}
    try:
        asked = NewDwelling.model_validate(body)
    except ValidationError as error:
        raise Refused(first_problem(error)) from None
    return {"name": desk.new(asked, _units(request))}


def _edit(desk: Desk, request: Request, body: dict[str, Any]) -> dict[str, Any]:
    operations = read_operations(body.get("operations"))
    return desk.edit(_name(request), _revision(body), operations, _client(body), _units(request))


def _undo(desk: Desk, request: Request, body: dict[str, Any]) -> dict[str, Any]:
    return desk.undo(_name(request), _revision(body), _client(body))


def _redo(desk: Desk, request: Request, body: dict[str, Any]) -> dict[str, Any]:
    return desk.redo(_name(request), _revision(body), _client(body))


def _readiness(desk: Desk, request: Request, _: dict[str, Any]) -> dict[str, Any]:
    return readiness_view.readiness_view(desk.loaded(_name(request)), _units(request))


def _run(desk: Desk, request: Request, body: dict[str, Any]) -> dict[str, Any]:
    what = body.get("what", "run")
    if what in ("place", "lesson"):
        return {"runs": desk.ask_long(what, _text(body, "case"), _units(request))}
    cells = body.get("cells")
    if not isinstance(cells, list) or not all(isinstance(cell, float) for cell in cells):
        raise Refused("cells: a list of sizes in metres, such as [0.2, 0.1]")
    return {"runs": desk.ask_runs(_text(body, "case"), cells)}


def _cancel(desk: Desk, request: Request, _: dict[str, Any]) -> dict[str, Any]:
    desk.runs.cancel(int(request.path_params["number"]))
    return {"runs": desk.runs.shown()}


def _result_path(desk: Desk, name: str) -> Path:
    path = desk.folder.path(name)
    if not name.endswith(RESULT_ENDING) or not path.is_file():
        raise NotThere(f"there is no result '{name[:60]}'")
    return path


def _answer(desk: Desk, request: Request, _: dict[str, Any]) -> dict[str, Any]:
    return answers.answer(_result_path(desk, _name(request)), _units(request))


def _room(desk: Desk, request: Request, _: dict[str, Any]) -> Response:
    content = answers.room_bytes(_result_path(desk, _name(request)))
    return Response(content, media_type="application/octet-stream")


def _compare(desk: Desk, request: Request, _: dict[str, Any]) -> dict[str, Any]:
    names = request.query_params.getlist("result")
    if len(names) != 2:
        raise Refused("result: two of them")
    paths = [_result_path(desk, name) for name in names]
    return answers.side_by_side(paths, _units(request))


def _sheet(desk: Desk, request: Request, _: dict[str, Any]) -> Response:
    made = offers.job_sheet(_result_path(desk, _name(request)), _units(request))
    return FileResponse(made, filename=made.name)


def _lesson(desk: Desk, request: Request, _: dict[str, Any]) -> Response:
    name = _name(request)
    path = desk.folder.path(name)
    if path.name != "lesson.html" or not path.is_file():
        raise NotThere(f"there is no lesson '{name[:60]}'")
    return FileResponse(path, filename=f"{path.parent.name}.html")


def _name(request: Request) -> str:
    return str(request.path_params["name"])


def _units(request: Request) -> System:
    units = request.query_params.get("units", "si")
    if units == "si":
        return "si"
    if units == "us":
        return "us"
    raise Refused(f"units: one of {', '.join(get_args(System))}")


def _revision(body: dict[str, Any]) -> int:
    revision = body.get("revision")
    if not isinstance(revision, int) or isinstance(revision, bool):
        raise Refused("revision: the whole number that the case was told with")
    return revision


def _client(body: dict[str, Any]) -> str:
    client = body.get("client", "")
    return client[:40] if isinstance(client, str) else ""


def _text(body: dict[str, Any], key: str) -> str:
    value = body.get(key)
    if not isinstance(value, str) or not 0 < len(value) <= 200:
        raise Refused(f"{key}: some text")
    return value
