"""Pictures, build-up and text of a comparison through the command line."""

import io
import shutil
import struct

import av
import pytest
from PIL import Image

from halfroll.workshop import Workshop
from halfroll.workshop.marks import read_mark


@pytest.fixture(scope="module")
def shop(small_workshop, tmp_path_factory):
    """A copy of the small workshop for marks to be kept in; its takes are analysed once."""
    return shutil.copytree(small_workshop, tmp_path_factory.mktemp("pictures") / "shop")


def test_picture_of_two_versions(shop, tmp_path, ask):
    """A true 1920 x 1080 PNG over film, in words too; its marks lead back to the takes."""
    out = tmp_path / "over.png"
    told = ask("--workshop", shop, "picture", "dunlin/v1", "dunlin/v2", "--chart", "strip:sensitivity_db",
               "--ground", "transparent", "--title", "Louder?", "--out", out)  # fmt: skip
    data = out.read_bytes()
    assert struct.unpack(">II", data[16:24]) == (told["width_px"], told["height_px"]) == (1920, 1080)
    assert Image.open(io.BytesIO(data)).convert("RGBA").getpixel((0, 0))[3] == 0
    assert told["summary"].startswith("Louder? ")
    assert "dB" in told["summary"]


def test_vector_pictures(shop, tmp_path, say):
    """SVG and PDF at the size asked for; a mark printed in the SVG is found again in the workshop."""
    svg, pdf = tmp_path / "level.svg", tmp_path / "level.pdf"
    base = ["--workshop", shop, "picture", "dunlin", "--size", "3840x2160"]
    assert say(*base, "--chart", "figures", "--out", svg)[0] == 0
    assert say(*base, "--chart", "level", "--no-finding", "--ground", "dark", "--out", pdf)[0] == 0
    text = svg.read_text(encoding="utf-8")
    assert 'width="3840" height="2160"' in text
    assert pdf.read_bytes().startswith(b"%PDF-")
    marks = [p.stem for p in (shop / "releases" / "marks").glob("*.json")]
    printed = [mark for mark in marks if mark.upper() in text]
    assert len(printed) >= 4
    assert read_mark(Workshop.open(shop), printed[0]).version_id in ("dunlin/v1", "dunlin/v2")


def test_build_up_as_film(shop, tmp_path, ask):
    """One short film in full size, probed by PyAV: frames, size, rate."""
    out = tmp_path / "one.mp4"
    told = ask("--workshop", shop, "build-up", "dunlin/v1", "--chart", "strip:sensitivity_db", "--seconds", "0.5",
               "--hold", "0", "--fps", "24", "--fade", "--out", out)  # fmt: skip
    with av.open(str(out)) as container:
        stream = container.streams.video[0]
        assert (stream.width, stream.height, stream.average_rate) == (1920, 1080, 24)
        assert stream.frames == told["frames"]
    assert told["pixels"] == "yuv420p"
    assert [p.name for p in tmp_path.iterdir()] == ["one.mp4"]


def test_text_to_paste(shop, say):
    """On stdout alone: findings, the table with marks, the workshop's name."""
    code, out, _ = say("--workshop", shop, "compare", "dunlin", "--text", "markdown")
    assert code == 0
    for words in ("| Sensitivity | v1", "± half of the 95 % interval", "Mark", "Hide · "):
        assert words in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["picture", "dunlin", "--out", "a.gif"], ".svg, .png, .pdf"),
        (["picture", "dunlin", "--out", "a.png", "--size", "1921x1081"], "1920x1080, 3840x2160"),
        (["picture", "dunlin", "--out", "a.png", "--ground", "pink"], "plain, dark, transparent"),
        (["picture", "dunlin", "--out", "a.png", "--chart", "impedance"], "figures"),
        (["picture", "--out", "a.png"], "Missing argument"),
        (["picture", "dunlin"], "--out"),
        (["build-up", "dunlin", "--out", "a.mp4", "--fps", "0"], "24, 25, 30, 50, 60"),
        (["build-up", "dunlin", "--out", "a.mp4", "--seconds", "nan"], "0.5 to 30 s"),
        (["build-up", "dunlin", "--out", "a.avi"], ".mp4 or .webm"),
        (["build-up", "dunlin", "--out", "a.mp4", "--ground", "transparent"], "a.webm"),
        (["build-up", "dunlin", "--out", "."], "empty or not there yet"),
        (["compare", "dunlin", "--text", "html"], "markdown"),
    ],
)
def test_nonsense_is_refused_in_words(shop, tmp_path, say, monkeypatch, words, said):
    """Exit code 2, what is allowed, no file."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.txt").write_text("mine")
    code, out, err = say("--workshop", shop, *words)
    assert code == 2
    assert said in err
    assert out == ""
    assert [p.name for p in tmp_path.iterdir()] == ["mine.txt"]
