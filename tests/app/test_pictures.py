"""The page of pictures: what can be chosen, the files, the film, and the text of a comparison."""

from __future__ import annotations

import io
import struct
import zipfile

from nicegui.testing import User

from halfroll.app.films import MOST, Films, zipped
from tests.app.conftest import PATIENT

TWO = "v=godwit/v1&v=godwit/v3"


async def test_choose_look_and_keep(visitor: User) -> None:
    """The charts there are, the picture with its words as alternative, files of the size asked for."""
    await visitor.open(f"/pictures?{TWO}&chart=strip:lower_limit_hz&ground=dark&size=3840x2160")
    await visitor.should_see("Pictures of Godwit v1, v3", retries=PATIENT)
    for words in (
        "Lower limit",
        'value="figures"',
        "transparent: laid over film",
        "Keep as PNG",
        "Make the build-up",
    ):
        await visitor.should_see(words)
    picture = next(e for e in visitor.client.elements.values() if e.tag == "img" and "alt" in e.props)  # type: ignore[union-attr]
    assert "Lower limit: Godwit v1, v3" in picture.props["alt"]
    get = visitor.http_client.get
    small = await get(picture.props["src"])
    assert struct.unpack(">II", small.content[16:24]) == (960, 540)
    svg = await get(f"/pictures/picture.svg?{TWO}&chart=strip:lower_limit_hz&size=3840x2160")
    assert 'width="3840" height="2160"' in svg.text
    assert (
        svg.headers["content-disposition"]
        == 'attachment; filename="strip-lower_limit_hz-plain-3840x2160.svg"'
    )


async def test_film_is_made_and_fetched(visitor: User) -> None:
    """A wrong time is said at its field; then the film is made, shown and can be kept."""
    await visitor.open("/pictures?ids=godwit/v1&chart=strip:lower_limit_hz&finding=no")
    await visitor.should_see("Make the build-up", retries=PATIENT)
    seconds = next(iter(visitor.find(marker="seconds").elements))
    seconds.value = "soon"  # type: ignore[attr-defined]
    visitor.find("Make the build-up").click()
    await visitor.should_see("must be a number of seconds")
    for key, value in (("seconds", "0,5"), ("hold", "0"), ("fps", "24")):
        next(iter(visitor.find(marker=key).elements)).value = value  # type: ignore[attr-defined]
    visitor.find("Make the build-up").click()
    await visitor.should_see("frames, ", retries=PATIENT)
    link = next(iter(visitor.find(marker="film").elements))
    film = await visitor.http_client.get(link.props["href"])
    assert film.headers["content-type"] == "video/mp4"
    assert film.content[4:8] == b"ftyp"
    assert (await visitor.http_client.get("/pictures/film/guessed")).status_code == 404


async def test_text_of_a_comparison(visitor: User) -> None:
    """Written on demand, with marks, into a field from which it can be copied."""
    await visitor.open(f"/compare?{TWO}&base=first")
    await visitor.should_see("Findings and figures as text to paste", retries=PATIENT)
    visitor.find(marker="text-markdown").click()
    await visitor.should_see("| Figure | Version | Value | Against the base | Mark |", retries=PATIENT)
    visitor.find(marker="text-plain").click()
    await visitor.should_see("FIGURES", retries=PATIENT)


async def test_wrong_addresses_say_why(visitor: User) -> None:
    """The file is refused with status 422 and a sentence; the page says the same beside its form."""
    for query, words in (
        (f"{TWO}&ground=pink", "The ground must be one of"),
        (f"{TWO}&size=7x7", "1920x1080, 3840x2160"),
        (f"{TWO}&chart=pie", "The chart must be one of"),
        (f"{TWO}&level=loud", "The level must be a power"),
    ):
        answer = await visitor.http_client.get(f"/pictures/picture.png?{query}")
        assert answer.status_code == 422
        assert words in answer.text
    await visitor.open(f"/pictures?{TWO}&chart=pie")
    await visitor.should_see("The chart must be one of", retries=PATIENT)


async def test_empty_workshop(newcomer: User) -> None:
    """Nothing to draw: the page shows the way."""
    await newcomer.open("/pictures")
    await newcomer.should_see("Choose versions to compare first")
    assert (await newcomer.http_client.get("/pictures?v=godwit/v9")).status_code == 404


def test_old_films_go() -> None:
    """Only the last few are kept, and none when the server stops."""
    kept = Films()
    tokens = []
    for _ in range(MOST + 1):
        token, path = kept.place("a.mp4")
        path.write_bytes(b"film")
        kept.keep(token, path)
        tokens.append(token)
    assert kept.get(tokens[0]) is None
    assert [kept.get(token) is not None for token in tokens[1:]] == [True] * MOST
    kept.close()
    assert not kept.folder.exists()


def test_frames_in_a_zip_are_the_same_each_time(tmp_path) -> None:  # type: ignore[no-untyped-def]
    """In order, without dates of their own."""
    folder = tmp_path / "frames"
    folder.mkdir()
    for name in ("b.png", "a.png"):
        (folder / name).write_bytes(name.encode())
    zipped(folder, tmp_path / "one.zip")
    zipped(folder, tmp_path / "two.zip")
    data = (tmp_path / "one.zip").read_bytes()
    assert data == (tmp_path / "two.zip").read_bytes()
    assert zipfile.ZipFile(io.BytesIO(data)).namelist() == ["a.png", "b.png"]
