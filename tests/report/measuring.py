"""What a page's own boxes say of it in a browser: what runs out, is cut, broken or unreadable."""

# Content of a sheet of paper between margins of 11 mm, in CSS pixels (96 to the inch).
PAPER_PX = {"A4": (711, 1040), "Letter": (733, 973)}
PAPERS_IN = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
# 7 pt on paper; on a screen no label is smaller than this.
LEAST_LABEL_PX = {"print": 9.3, "screen": 9.0}

FAULTS = r"""((least) => {
  const out = [], seen = new Set();
  const say = (kind, what) => {
    const line = kind + ': ' + what.replace(/\s+/g, ' ').trim().slice(0, 70);
    if (!seen.has(line)) { seen.add(line); out.push(line); }
  };
  const wide = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > wide + 1)
    say('sideways', document.documentElement.scrollWidth + ' px of ' + wide);

  const style = e => getComputedStyle(e);
  const scrolls = e => /auto|scroll/.test(style(e).overflowX);
  const box = (e, test) => { for (; e && e !== document.documentElement; e = e.parentElement)
    if (test(e)) return e; return null; };
  const numbers = text => (text.match(/[\d.]+/g) || []).map(Number);
  // Colour over colour, then WCAG's ratio.
  const over = (top, under) => top.slice(0, 3).map((v, i) => v * top[3] + under[i] * (1 - top[3]));
  const rgba = text => { const n = numbers(text); return n.length > 3 ? n : [...n, 1]; };
  const ground = e => { let layers = [];
    for (; e; e = e.parentElement) { const c = rgba(style(e).backgroundColor);
      if (c[3]) layers.push(c); if (c[3] === 1) break; }
    return layers.reverse().reduce((under, top) => over(top, under), [255, 255, 255]); };
  const light = c => { const [r, g, b] = c.map(v => { v /= 255;
    return v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ratio = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05); };

  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const range = document.createRange(), lines = [];
  for (let node = walk.nextNode(); node; node = walk.nextNode()) {
    const e = node.parentElement, text = node.data;
    if (!text.trim() || e.closest('script,style,template,.unseen')) continue;
    range.selectNodeContents(node);
    const rects = [...range.getClientRects()].filter(r => r.width > 0.5);
    if (!rects.length) continue;
    const css = style(e), drawn = e.closest('svg');
    if (css.visibility === 'hidden') continue;
    if (drawn) {
      const size = parseFloat(css.fontSize) * Math.abs(e.getScreenCTM().a || e.getScreenCTM().b);
      if (size < least) say('small label ' + size.toFixed(1) + ' px', text);
      const frame = drawn.getBoundingClientRect();
      for (const r of rects)
        if (r.left < frame.left - 1 || r.right > frame.right + 1 || r.top < frame.top - 1.5
            || r.bottom > frame.bottom + 1.5) say('label out of its picture', text);
    } else {
      const size = parseFloat(css.fontSize);
      if (size < 8) say('small text ' + size.toFixed(1) + ' px', text);
    }
    // Words stay whole; a number of parts may break behind its hyphens and where <wbr> stands.
    for (const found of text.matchAll(/[^\s\-_/]+/g)) {
      if (drawn || found[0].length > 40) continue;
      range.setStart(node, found.index);
      range.setEnd(node, found.index + found[0].length);
      const tops = [...range.getClientRects()].filter(r => r.width > 0.5).map(r => r.top);
      if (tops.length && Math.max(...tops) - Math.min(...tops) > 3) say('broken word', found[0]);
    }
    const scroller = box(e, scrolls);
    const cutting = box(e, b => /hidden|clip/.test(style(b).overflowX) && !b.matches('#viewer'));
    const cell = e.closest('td,th');
    for (const r of rects) {
      if (!scroller && (r.right > wide + 1 || r.left < -1)) say('runs out', text);
      for (const edge of [cutting, cell]) { if (!edge) continue;
        const b = edge.getBoundingClientRect();
        if (r.right > b.right + 1 || r.left < b.left - 1) say('over its edge', text); }
    }
    const paint = drawn ? css.fill : css.color;
    const shade = over(rgba(paint), ground(e)), large = parseFloat(css.fontSize) >= 24
      || (parseFloat(css.fontSize) >= 18.6 && +css.fontWeight >= 700);
    const contrast = ratio(shade, ground(e));
    if (!drawn && contrast < (large ? 3 : 4.5)) say('contrast ' + contrast.toFixed(1), text);
    const block = box(e, b => !/^(inline|contents)/.test(style(b).display)) || document.body;
    for (const r of rects) lines.push({ r, block: drawn ? e : block, drawn, text });
  }
  lines.sort((a, b) => a.r.top - b.r.top);
  for (let i = 0; i < lines.length; i += 1)
    for (let k = i + 1; k < lines.length && lines[k].r.top < lines[i].r.bottom - 3; k += 1) {
      const a = lines[i], b = lines[k];
      if (a.block === b.block || a.block.contains(b.block) || b.block.contains(a.block)) continue;
      if (a.drawn && b.drawn && a.drawn === b.drawn && a.drawn.closest('#drawing')) continue;
      if (Math.min(a.r.right, b.r.right) - Math.max(a.r.left, b.r.left) > 1.5
          && Math.min(a.r.bottom, b.r.bottom) - b.r.top > 3)
        say('on each other', a.text.trim().slice(0, 30) + ' / ' + b.text.trim().slice(0, 30));
    }
  for (const e of document.querySelectorAll('body *')) {
    if (e.closest('svg')) continue;
    if (scrolls(e) && e.scrollWidth > e.clientWidth + 1) {
      if (matchMedia('print').matches) say('cut on paper', e.textContent);
      else if (e.tabIndex < 0 || !e.getAttribute('aria-label'))
        say('no key reaches', e.textContent);
    }
  }
  for (const e of document.querySelectorAll('img, svg, canvas')) {
    if (e.closest('[aria-hidden=true]') || e.parentElement.closest('svg')) continue;
    const told = e.getAttribute('alt') || e.getAttribute('aria-label')
      || (e.closest('[role=img]') || e).getAttribute('aria-label');
    if (!told) say('no words for a picture', e.outerHTML);
  }
  for (const e of document.querySelectorAll('.word, .banner'))
    if (!/[A-Z]{4}/.test(e.textContent)) say('colour without a word', e.outerHTML);
  for (const e of document.querySelectorAll('body *')) for (const node of e.childNodes)
    if (node.nodeType === 3 && node.data.includes('`') && !e.closest('script,style'))
      say('raw backticks', node.data);
  return out;
})"""


def faults(browser, path, width, height=900, *, media="screen", dark=False):
    """Return what is wrong with a page at a width [px], on a screen or as it goes to paper."""
    browser.open(path, width, height, dark=dark)
    if media == "print":
        browser.call("Emulation.setEmulatedMedia", media="print", features=[])
        browser.run("window.dispatchEvent(new Event('beforeprint'))")
    else:
        browser.run("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    return browser.run(f"{FAULTS}({LEAST_LABEL_PX[media]})")


def on_paper(browser, path, paper):
    """Return what is wrong with a page on a sheet of paper."""
    return faults(browser, path, *PAPER_PX[paper], media="print")
