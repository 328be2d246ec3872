// SPDX-FileCopyrightText: 2026 The girthline authors
// SPDX-License-Identifier: MIT
// node run.mjs [PAGE.html...]: each page in a real browser. A page whose name holds "hostile", "empty" or "long" is one made
// of such a result; the others must play. Without a page those of the built tree that GIRTHLINE (the program) lies in: the
// hand-made results', that of a sample, and those with hostile texts in every place. Ends 77 where there is no browser or no driver, 1 on a fault.
import { execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { basename, dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const skip = (why) => {
  console.log(`skipped: ${why}`);
  process.exit(77);
};
const require = createRequire(import.meta.url);
const driver = await import("playwright-core").catch(() => skip("playwright-core is not installed (npm install in tests/browser)"));
const chromium = driver.chromium || driver.default.chromium;
const executablePath = [process.env.CHROMIUM, "/usr/bin/chromium", "/usr/bin/chromium-browser"].find((path) => path && existsSync(path));
if (!executablePath) skip("no chromium is installed");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

const QUIET = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update",
  "--disable-sync", "--autoplay-policy=no-user-gesture-required", "--mute-audio"];
const browser = await chromium.launch({ executablePath, args: QUIET });
let faults = 0, checks = 0;
const check = (good, what) => {
  checks++;
  if (good) return;
  faults++;
  console.log(`FAULT ${what}`);
};

const open = async (file, options) => {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const url = pathToFileURL(resolve(file)).href, where = `${basename(file)} ${JSON.stringify(options)}`;
  page.on("console", (message) => check(false, `${where}: the console says ${message.text()}`));
  page.on("dialog", (dialog) => { check(false, `${where}: asks "${dialog.message()}"`); dialog.dismiss(); });
  page.on("popup", () => check(false, `${where}: opens a window`));
  page.on("pageerror", (error) => check(false, `${where}: ${error.message}`));
  page.on("request", (request) => check(request.url() === url || request.url().startsWith("data:"), `${where}: asks for ${request.url()}`));
  await page.goto(url);
  return { page, where, close: () => context.close() };
};

const layout = async (file) => {
  for (const width of [360, 700, 800, 1280])
    for (const colorScheme of ["light", "dark"]) {
      const { page, where, close } = await open(file, { viewport: { width, height: 800 }, colorScheme });
      const wide = await page.evaluate(() => document.documentElement.scrollWidth);
      check(wide <= width, `${where}: is ${wide} wide`);
      const seen = await page.evaluate(() => [...document.querySelectorAll("figure")].every((f) => [...f.querySelectorAll("svg")].filter((s) => s.getBoundingClientRect().width > 0).length === 1));
      check(seen, `${where}: a figure does not show exactly one picture`);
      const least = await page.evaluate(() => Math.min(...[...document.querySelectorAll("tbody tr:not(.group) > th:first-child")].map((c) => c.getBoundingClientRect().width).filter((w) => w > 0)));
      check(least >= 100, `${where}: what a row is stands in ${least} pixels`);
      const squeezed = await page.evaluate(() => Math.min(...[...document.querySelectorAll("th, td")].filter((c) => c.textContent.trim().length > 20 && c.checkVisibility()).map((c) => c.getBoundingClientRect().width)));
      check(squeezed >= 80, `${where}: a sentence of a table stands in ${squeezed} pixels`);
      await page.evaluate(axe);
      const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
      for (const v of found.violations) check(false, `${where}: ${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.target).join(", ")}`);
      checks++;
      await close();
    }
};

// By the keyboard alone: each stop of the tab key can be seen, shows that it has the focus and comes further down the page or further right.
// The second width is that of a screen of 1280 at twice the size.
const byKeys = async (file) => {
  for (const width of [1280, 640]) {
    const { page, where, close } = await open(file, { viewport: { width, height: 800 } });
    const stop = () => page.evaluate(() => {
      const e = document.activeElement, box = e.getBoundingClientRect(), style = getComputedStyle(e);
      const front = document.elementFromPoint(box.left + Math.min(box.width, innerWidth) / 2, Math.max(box.top, 0) + Math.min(box.height, innerHeight) / 2);
      return e === document.body ? null : { tag: e.tagName, name: (e.dataset.do || e.textContent).trim().slice(0, 40), top: box.top + scrollY, left: box.left,
        seen: !!front && (e.contains(front) || front.contains(e)), wide: box.width >= 20 && box.height >= 12,
        shown: !e.matches(":focus-visible") || (style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2) };
    });
    const stops = [];
    for (await page.keyboard.press("Tab"); stops.length < 60; await page.keyboard.press("Tab")) {
      const now = await stop();
      if (!now) break;
      stops.push(now);
      check(now.seen && now.wide, `${where}: the tab key comes to ${now.tag} "${now.name}", which cannot be seen`);
      check(now.shown, `${where}: ${now.tag} "${now.name}" does not show that it has the focus`);
      const before = stops.at(-2);
      check(!before || now.top >= before.top - 2 || now.left > before.left, `${where}: the tab key goes back up to ${now.tag} "${now.name}"`);
    }
    check(stops.length > 0, `${where}: nothing can be reached by the tab key`);
    await close();
  }
};

// What a screen reader is told: every control and every region of its own has a name, and headings leave no level out.
const toldAloud = async (file) => {
  const { page, where, close } = await open(file, { viewport: { width: 1280, height: 800 } });
  const client = await page.context().newCDPSession(page);
  const { nodes } = await client.send("Accessibility.getFullAXTree");
  let level = 0;
  for (const node of nodes.filter((n) => !n.ignored)) {
    const role = node.role.value, name = node.name && node.name.value, has = (key) => (node.properties || []).find((p) => p.name === key)?.value.value;
    check(name || !(has("focusable") || ["image", "table", "rowheader"].includes(role)), `${where}: a ${role} has no name`);
    if (role !== "heading") continue;
    check(name && has("level") <= level + 1, `${where}: heading "${name}" of level ${has("level")} after one of ${level}`);
    level = has("level");
  }
  check(level > 0, `${where}: no heading is told`);
  const named = await page.evaluate(() => [...document.querySelectorAll("article[id^=recording]")].every((a) => document.getElementById(a.getAttribute("aria-labelledby"))?.textContent));
  check(named, `${where}: a recording's part does not have its name`);
  // Laid out as lines on a narrow screen, a table is only told as one by what it says itself.
  const bare = await page.evaluate(() => [...document.querySelectorAll("table, thead, tbody, tr, th, td")].filter((e) => !e.getAttribute("role")).length);
  check(bare === 0, `${where}: ${bare} parts of tables do not say what they are`);
  await close();
};

const print = async (file) => {
  const { page, where, close } = await open(file, { viewport: { width: 794, height: 1000 } });
  await page.emulateMedia({ media: "print" });
  check(await page.evaluate(() => [...document.querySelectorAll(".player")].every((p) => p.getBoundingClientRect().height === 0)), `${where}: print shows the player`);
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))); // what was skipped is drawn with the next frame
  const folded = await page.evaluate(() => [...document.querySelectorAll("details > :not(summary)")].filter((e) => !e.checkVisibility({ contentVisibilityAuto: true, visibilityProperty: true })).length);
  check(folded === 0, `${where}: print leaves out what is folded away`);
  for (const format of ["A4", "Letter"]) check((await page.pdf({ format })).length > 10000, `${where}: does not print on ${format}`);
  await close();
};

const hostile = async (file) => {
  const { page, where, close } = await open(file, { viewport: { width: 1280, height: 800 } });
  check(/recordings: heart sounds$/.test(await page.title()), `${where}: the title is ${await page.title()}`);
  const foreign = await page.evaluate(() => document.querySelectorAll("img, iframe, object, form, b, script:not(:last-of-type), [onerror], [onmouseover]").length);
  check(foreign === 0, `${where}: ${foreign} elements came out of a name`);
  const shown = await page.evaluate(() => [...document.querySelectorAll("dt")].find((term) => term.textContent === "File").nextElementSibling.textContent);
  check(shown.includes("<script>"), `${where}: the name is not shown`);
  await close();
};

// A page that holds every hostile text: nothing of them acts, at once or when the page is used, and it stays as wide as the window.
const inert = async (file) => {
  for (const width of [360, 1280]) {
    const { page, where, close } = await open(file, { viewport: { width, height: 800 } });
    const foreign = () => page.evaluate(() => [...document.querySelectorAll("*")].filter((e) => /^(IMG|IFRAME|OBJECT|EMBED|BASE|B|FRAME|APPLET|MARQUEE)$/i.test(e.tagName) ||
      [...e.attributes].some((a) => /^on|^srcdoc$|^http-equiv$/i.test(a.name) && a.value !== "Content-Security-Policy") || /^javascript:/i.test(e.getAttribute("href") || "")).map((e) => e.outerHTML.slice(0, 60)));
    check((await foreign()).length === 0, `${where}: ${await foreign()}`);
    for (const button of await page.locator("button:visible").all()) await button.click({ timeout: 2000 }).catch(() => {});
    for (const field of await page.locator("input:visible").all()) await field.fill("<script>alert(1)</script>").catch(() => {});
    check((await foreign()).length === 0, `${where}: after use: ${await foreign()}`);
    check((await page.evaluate(() => document.body.textContent)).includes("<"), `${where}: the texts are not shown`);
    const wide = await page.evaluate(() => document.documentElement.scrollWidth);
    check(wide <= width, `${where}: is ${wide} wide`);
    check(page.url() === pathToFileURL(resolve(file)).href, `${where}: went to ${page.url()}`);
    await close();
  }
};

const withoutScript = async (file) => {
  const { page, where, close } = await open(file, { viewport: { width: 1280, height: 800 }, javaScriptEnabled: false });
  check(await page.locator("table").first().isVisible(), `${where}: no numbers without scripts`);
  check(await page.locator("svg.wide").first().isVisible(), `${where}: no picture without scripts`);
  check(!(await page.locator(".controls").first().isVisible()), `${where}: buttons that do nothing`);
  check(await page.locator("audio").first().isVisible(), `${where}: no player without scripts`);
  await close();
};

const state = (page) => page.evaluate(() => [...document.querySelectorAll("audio")].map((a) => ({ paused: a.paused, at: a.currentTime, start: Number(a.dataset.start), factor: Number(a.dataset.factor) })));
const playing = (list) => list.findIndex((a) => !a.paused);
const timeIn = (a) => a.start + a.at / a.factor;

const plays = async (file) => {
  const { page, where, close } = await open(file, { viewport: { width: 1280, height: 800 } });
  const beats = await page.evaluate(() => document.querySelector(".player").dataset.beats.split(" ").map(Number));
  const ready = await page.evaluate(() => Promise.all([...document.querySelectorAll("audio")].map((a) => new Promise((done) => {
    if (a.readyState >= 4) done(a.duration);
    a.addEventListener("canplaythrough", () => done(a.duration));
    a.addEventListener("error", () => done(-1));
  }))));
  check(ready.every((length) => length > 0), `${where}: a sound does not load: ${ready}`);

  await page.locator("[data-do=play]").click();
  await page.waitForTimeout(700);
  let now = await state(page);
  check(playing(now) === 0 && now[0].at > 0.2, `${where}: the button does not play`);
  check((await page.locator("line.cursor").count()) >= 1, `${where}: no cursor runs`);
  await page.locator("[data-do=play]").click();
  check(playing(await state(page)) < 0, `${where}: the button does not stop`);

  // Touching the fifth beat in the first picture plays from it.
  const place = await page.evaluate((time) => {
    const svg = [...document.querySelectorAll("svg[data-field]")].find((s) => s.getBoundingClientRect().width > 0);
    svg.scrollIntoView();
    const [x, y, width, height, from, to] = svg.dataset.field.split(" ").map(Number), box = svg.getBoundingClientRect(), scale = box.width / svg.viewBox.baseVal.width;
    return { x: box.left + (x + (time - from) / (to - from) * width) * scale, y: box.top + (y + height / 2) * scale };
  }, beats[4] + 0.1);
  await page.mouse.click(place.x, place.y);
  await page.waitForTimeout(150);
  now = await state(page);
  check(playing(now) >= 0 && Math.abs(timeIn(now[playing(now)]) - beats[4]) < 1, `${where}: touching a beat does not play it: ${JSON.stringify(now)}`);
  check((await page.locator(".now").textContent()).startsWith("Beat 5 "), `${where}: the beat is not named`);
  check((await page.locator("rect.held").count()) >= 1, `${where}: the beat is not shown`);

  await page.locator(".player").focus();
  await page.keyboard.press("ArrowRight");
  check((await page.locator(".now").textContent()).startsWith("Beat 6 "), `${where}: right arrow does not go on`);
  await page.keyboard.press("ArrowLeft");
  check((await page.locator(".now").textContent()).startsWith("Beat 5 "), `${where}: left arrow does not go back`);
  await page.waitForTimeout(100);
  await page.keyboard.press(" ");
  check(playing(await state(page)) < 0, `${where}: space does not stop`);
  await page.keyboard.press("r");
  await page.waitForTimeout(150);
  check((await page.locator("[data-do=loop]").getAttribute("aria-pressed")) === "true" && playing(await state(page)) >= 0, `${where}: R does not repeat`);
  await page.keyboard.press("4");
  await page.waitForTimeout(200);
  now = await state(page);
  check(playing(now) === 3, `${where}: 4 does not choose the slow version`);
  check(now.filter((a) => !a.paused).length === 1, `${where}: two sounds at once`);
  await close();
};

// Of several recordings' players only one sounds, and each keeps to its own.
const playsApart = async (file) => {
  const { page, where, close } = await open(file, { viewport: { width: 1280, height: 800 } });
  const players = page.locator(".player"), n = await players.count();
  check(n > 1, `${where}: has ${n} players`);
  await players.nth(0).locator("[data-do=play]").click();
  await page.waitForTimeout(300);
  await players.nth(1).locator("[data-do=play]").click();
  await page.waitForTimeout(300);
  const now = await page.evaluate(() => [...document.querySelectorAll(".player")].map((p) => [...p.querySelectorAll("audio")].filter((a) => !a.paused).length));
  check(now[0] === 0 && now[1] === 1, `${where}: plays ${now} at once`);
  await close();
};

// A page of clinic work: what it must show, with and without scripts.
const shows = async (file, words, pictures) => {
  const { page, where, close } = await open(file, { viewport: { width: 1280, height: 800 }, javaScriptEnabled: false });
  const text = await page.locator("main").innerText();
  for (const word of words) check(text.includes(word), `${where}: does not show "${word}"`);
  check((await page.locator(pictures).count()) >= 1, `${where}: no picture ${pictures}`);
  check((await page.locator(".answer").first().boundingBox()).y < 400, `${where}: the answer is not what comes first`);
  await close();
};

// The index of a recording set: sorted and filtered by its own script, and whole without one.
const index = async (file, n) => {
  const { page, where, close } = await open(file, { viewport: { width: 1280, height: 800 } });
  const rates = () => page.evaluate(() => [...document.querySelectorAll("tbody tr:not([hidden])")].map((row) => row.cells[5]).filter((c) => c.className === "n" && c.textContent).map((c) => Number(c.textContent)));
  await page.locator("thead th:nth-child(6) button").click();
  const up = await rates();
  check(up.length > 2 && up.every((rate, i) => !i || up[i - 1] <= rate), `${where}: not sorted by the rate: ${up}`);
  await page.locator("thead th:nth-child(6) button").click();
  check((await rates()).join() === up.reverse().join(), `${where}: not sorted the other way round`);
  // The same by keys alone; enter and space both turn the order round, and the focus stays.
  await page.locator("thead th:nth-child(6) button").focus();
  for (const key of ["Enter", "Space"]) {
    const before = await rates();
    await page.keyboard.press(key);
    check((await rates()).join() === before.reverse().join(), `${where}: ${key} does not turn the order round`);
    check((await page.evaluate(() => document.activeElement.textContent)) === "Rate", `${where}: the focus is lost by sorting`);
  }
  // A set of a hundred thousand numbers its rows with six digits.
  const lines = await page.evaluate(() => {
    const linesOf = (cell, text) => {
      const range = document.createRange();
      cell.textContent = text;
      range.selectNodeContents(cell);
      return range.getClientRects().length;
    };
    const row = document.querySelector("tbody tr:not([hidden])").cloneNode(true);
    document.querySelector("tbody").prepend(row);
    const counted = [linesOf(row.cells[0], "100000"), linesOf(row.cells[3], "(assumed)")];
    row.remove();
    return counted;
  });
  check(lines.join() === "1,1", `${where}: a number of six digits and "(assumed)" take ${lines} lines`);
  await page.emulateMedia({ media: "print" });
  check(await page.locator("[role=status]").isVisible(), `${where}: print does not say how many rows it shows`);
  check(!(await page.locator(".filters input").isVisible()), `${where}: print shows filters`);
  await page.emulateMedia({ media: "screen" });
  await page.locator("input[type=search]").fill("oriel");
  check((await page.locator("tbody tr:visible").count()) === 1, `${where}: the name is not found`);
  check((await page.locator("[role=status]").textContent()) === `1 of ${n}`, `${where}: the count is wrong`);
  await close();
  const plain = await open(file, { viewport: { width: 1280, height: 800 }, javaScriptEnabled: false });
  check((await plain.page.locator("tbody tr:visible").count()) === n, `${plain.where}: not every row without scripts`);
  check(!(await plain.page.locator(".filters").isVisible()), `${plain.where}: filters that do nothing`);
  await plain.close();
};

const folder = mkdtempSync(join(tmpdir(), "girthline-pages-"));
const madePages = (program) => {
  const sampler = join(dirname(program), "../../tests/unit/report/page_sample"), samples = fileURLToPath(new URL("../../samples/", import.meta.url));
  const pages = ["full", "empty", "hostile", "long"].filter(() => existsSync(sampler)).map((kind) => {
    writeFileSync(join(folder, `${kind}.html`), execFileSync(sampler, [kind], { maxBuffer: 1 << 26 }));
    return join(folder, `${kind}.html`);
  });
  const wav = join(samples, "maren-at-rest.wav");
  if (existsSync(wav)) {
    const page = join(folder, "sample.html");
    execFileSync(program, ["report", wav, "--html", page]);
    pages.push(page);
  }
  return pages;
};
const pages = process.argv.length > 2 ? process.argv.slice(2) : process.env.GIRTHLINE ? madePages(process.env.GIRTHLINE) : [];

const anyPage = async (file) => {
  for (const holds of [layout, byKeys, toldAloud, print]) await holds(file);
};

for (const file of pages) {
  const name = basename(file);
  await anyPage(file);
  if (name.includes("hostile")) await hostile(file);
  else if (!name.includes("empty")) {
    await withoutScript(file);
    if (!name.includes("long")) await plays(file);
  }
}
const recordingsIn = (dir) => readdirSync(dir, { withFileTypes: true }).reduce((n, e) => n + (e.isDirectory() ? recordingsIn(join(dir, e.name)) : e.name.endsWith(".wav")), 0);
const samples = fileURLToPath(new URL("../../samples/", import.meta.url));
if (process.argv.length <= 2 && process.env.GIRTHLINE && existsSync(samples)) {
  execFileSync(process.env.GIRTHLINE, ["batch", samples, "--out", join(folder, "set"), "--quiet"]);
  await anyPage(join(folder, "set", "index.html"));
  await index(join(folder, "set", "index.html"), recordingsIn(samples));
}
const run = (...words) => execFileSync(process.env.GIRTHLINE, words, { stdio: ["ignore", "ignore", "ignore"] });
if (process.argv.length <= 2 && process.env.GIRTHLINE && existsSync(samples)) {
  const at = (name) => join(folder, name), sample = (name) => join(samples, name);
  run("report", sample("maren-at-rest.wav"), sample("oriel-pauses.wav"), "--scale", "--html", at("several.html"));
  for (const visit of ["visit-1", "visit-2"]) {
    run("exam", sample(`${visit}.ini`), "--html", at(`${visit}.html`), "--json", at(`${visit}.json`));
    run("visits", "--db", at("visits.db"), "add", at(`${visit}.json`));
  }
  run("visits", "--db", at("visits.db"), "compare", "Linnet", "--html", at("compared.html"));
  for (const name of ["several", "visit-2", "compared"]) await anyPage(at(`${name}.html`));
  await playsApart(at("several.html"));
  await playsApart(at("visit-2.html"));
  await shows(at("visit-2.html"), ["The answer, over all recordings", "The areas beside one another", "The rate coming back", "after hard work", "Caution"], ".recovery svg.wide");
  await shows(at("compared.html"), ["What differs", "Side by side", "Over all visits", "Rate at rest", "Caution"], ".course svg.wide");
}
if (process.argv.length <= 2 && process.env.GIRTHLINE) {
  const cases = fileURLToPath(new URL("../cases/", import.meta.url)), made = join(folder, "inert");
  execFileSync("python3", [join(cases, "hostile.py"), process.env.GIRTHLINE, join(cases, "hostile.txt"), "some", made]);
  for (const name of readdirSync(made)) await inert(join(made, name));
}
await browser.close();
rmSync(folder, { recursive: true });
console.log(`${pages.length} pages, ${checks} checks, ${faults} faults`);
process.exit(faults || !pages.length ? 1 : 0);
