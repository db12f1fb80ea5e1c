"""What a test does in the room: open it, press keys, read the picture's own number from its pixels."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playwright.sync_api import Page

ROW_PX = 16
"""Height of a row of the sheet as it opens."""
PATIENCE_MS = 120_000
"""The longest that a test waits for what comes by itself, however much else the machine has to do."""

READ_STAMP = """
window.readStamp = (canvas) => {
  const bits = 12, on = canvas.getContext('2d');
  const { width, height } = canvas;
  const w = Math.min(width, height * 16 / 9), h = w * 9 / 16, x0 = (width - w) / 2, y0 = (height - h) / 2;
  const side = Math.max(2, Math.min(Math.round(w / bits), Math.floor(h / 4)));
  const strip = on.getImageData(0, 0, width, Math.min(height, Math.ceil(y0 + side * 2))).data;
  const tone = (row, bit) => {
    const x = Math.round(x0 + (bit + 0.5) * w / bits), y = Math.round(y0 + (row + 0.5) * side);
    return strip[(y * width + x) * 4 + 1];
  };
  let number = 0;
  for (let bit = 0; bit < bits; bit++) {
    const a = tone(0, bit), b = tone(1, bit);
    if (Math.abs(a - b) < 80) return null;
    number = number * 2 + (a > b ? 1 : 0);
  }
  return number;
};
window.seen = () => {
  const canvas = document.querySelector('canvas.picture');
  return {
    pixels: window.readStamp(canvas),
    drawn: canvas.dataset.frame === '' ? null : Number(canvas.dataset.frame),
    readout: Number(document.querySelector('[data-shown]').dataset.shown),
    sheet: Number(document.querySelector('[role=grid] [role=row]').getAttribute('aria-rowindex')) - 1,
  };
};
window.soon = () => new Promise((done) => { const c = new MessageChannel(); c.port1.onmessage = () => done(); c.port2.postMessage(0); });
// Two pictures later every event that came before has been handled and what follows from it is shown.
window.settled = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() => window.soon().then(done))));
window.press = (key, more = {}) => window.dispatchEvent(new KeyboardEvent('keydown', { key, ...more, bubbles: true, cancelable: true }));
window.until = async (frame) => {
  const canvas = document.querySelector('canvas.picture');
  for (const end = performance.now() + 120000; performance.now() < end; await window.soon()) if (canvas.dataset.frame === String(frame)) break;
  await window.soon();
};
window.goTo = (shown) => {
  const input = document.querySelector('[data-shown]');
  input.value = String(shown);
  input.dispatchEvent(new Event('input', { bubbles: true }));
  input.form.requestSubmit();
};
"""


def open_room(page: Page, address: str) -> None:
    """Enter by the address with the token; ready when the first picture is drawn."""
    page.goto(address, wait_until="commit")
    page.wait_for_selector('canvas.picture[data-frame="0"]', timeout=PATIENCE_MS)
    page.evaluate(READ_STAMP)


def press(page: Page, *keys: str) -> None:
    for key in keys:
        page.keyboard.press(key)


def seen(page: Page) -> dict[str, Any]:
    """What pixels, picture, readout and sheet say the frame is."""
    return dict(page.evaluate("window.seen()"))


def on_frame(page: Page, frame: int, first_frame: int = 1001) -> None:
    """Wait until picture, readout and sheet show this frame, counted from 0.

    A key or a click says where the playhead is to go; it goes when the picture is there. Whoever acts on where it is waits for that.
    """
    wait_until(
        page, f"(({{ drawn, sheet, readout }}) => drawn === {frame} && sheet === drawn && readout === drawn + {first_frame})(window.seen())"
    )


def go_to(page: Page, shown: int, first_frame: int = 1001) -> None:
    """Go to a frame by its number, and be there."""
    page.evaluate(f"window.goTo({shown})")
    on_frame(page, shown - first_frame, first_frame)


def settled(page: Page) -> None:
    """Wait until the page has handled what was done to it and is laid out so."""
    page.evaluate("window.settled()")


def picture_places(page: Page, *points: tuple[float, float]) -> list[tuple[float, float]]:
    """Window pixels of points of the picture, given as fractions of it; of the picture as it lies once all that was pressed before is laid out."""
    settled(page)
    box = page.locator("canvas.overlay").bounding_box()
    assert box is not None
    return [(box["x"] + x * box["width"], box["y"] + y * box["height"]) for x, y in points]


def put_away(page: Page) -> None:
    """Close the panel that is open by its key. It is gone a moment after the key, and until then the desk hears no other."""
    page.keyboard.press("Escape")
    page.locator("dialog").wait_for(state="detached")


def draw(page: Page, *points: tuple[float, float]) -> None:
    """Draw over the picture with the mouse; points are fractions of the picture."""
    at = picture_places(page, *points)
    page.mouse.move(*at[0])
    page.mouse.down()
    for place in at[1:]:
        page.mouse.move(*place, steps=6)
    page.mouse.up()


def wait_until(page: Page, expression: str, *, seconds: float = PATIENCE_MS / 1000) -> None:
    """Poll a JavaScript expression. The page's policy forbids eval, which Playwright's own waiting would need."""
    for _ in range(round(seconds / 0.05)):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never became true within {seconds} s: {expression}")


def saved(page: Page) -> None:
    """Wait until the page says that everything is on disk. What was pressed or typed before has been acted on by then."""
    settled(page)
    wait_until(page, "document.querySelector('header .says').textContent !== 'saving'")


def keep_picture(page: Page, path: Path) -> None:
    """Keep what is to be seen as a picture, once all of it is there."""
    path.parent.mkdir(parents=True, exist_ok=True)
    page.evaluate("document.fonts.ready.then(() => null)")
    wait_until(page, "[...document.images].every((image) => image.complete || image.getBoundingClientRect().top > innerHeight)")
    wait_until(page, "document.querySelector('canvas.picture')?.dataset.frame !== ''")
    page.evaluate("window.settled?.()")
    page.screenshot(path=path, animations="disabled")


def sheet_filled(page: Page) -> None:
    """Wait until the sheet has what was measured, which comes after the first picture: nothing can be jumped to or mended before, and columns fold by it."""
    page.locator(".line button").first.wait_for()


def unfold(page: Page, column: str) -> None:
    """Press the head of a column that folded by itself where paper is scarce; it stays open from then on."""
    sheet_filled(page)
    page.get_by_role("button", name=f"{column}, folded").click()
    page.get_by_role("button", name=f"{column}, open").wait_for()


def sheet_place(page: Page, column: str, row: float) -> tuple[float, float]:
    """Window pixels of a (fractional) row of the sheet as it opens, in a column."""
    sheet_filled(page)
    settled(page)
    paper = page.locator(".paper").bounding_box()
    head = page.get_by_role("button", name=f"{column}, open").bounding_box()
    assert paper is not None
    assert head is not None
    return head["x"] + head["width"] / 2, paper["y"] + ROW_PX * row


def pull_edge(page: Page, column: str, start: float, stop: float) -> None:
    """Pull what lies at row `start` of a column to row `stop`."""
    x, y = sheet_place(page, column, start)
    _, to = sheet_place(page, column, stop)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, (y + to) / 2, steps=4)
    page.mouse.move(x, to, steps=4)
    page.mouse.up()
    saved(page)
