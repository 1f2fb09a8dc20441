// Opens pages that the tool wrote in headless Chromium and looks at each as a reader would.
//
//   node look.mjs PAGE.html ... [PICTURE.svg ...] [--shots FOLDER]
//
// A picture is drawn by Chromium and held against the PNG of the same name beside it.
// Ends with "N passed, N failed". Chromium is found on the path, or named by CHROMIUM.
import { mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import puppeteer from "puppeteer-core";

const given = process.argv.slice(2);
const args = given.filter((path) => !path.endsWith(".svg"));
const pictures = given.filter((path) => path.endsWith(".svg"));
const at = args.indexOf("--shots");
const shots = at < 0 ? null : args.splice(at, 2)[1];
if (shots) mkdirSync(shots, { recursive: true });
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const chromium = process.env.CHROMIUM ?? "/usr/bin/chromium";

let passed = 0;
let failed = 0;
const check = (what, good, seen = "") => {
  good ? passed++ : failed++;
  if (!good) console.log(`FAILED ${what} ${seen}`);
};

const browser = await puppeteer.launch({
  executablePath: chromium,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--disable-component-update"],
});
for (const path of args) {
  for (const [width, scheme] of [[1280, "light"], [1280, "dark"], [375, "light"], [375, "dark"]]) {
    const name = `${basename(path)} ${width} ${scheme}:`;
    const page = await browser.newPage();
    const trouble = [];
    const url = pathToFileURL(resolve(path)).href;
    page.on("console", (m) => trouble.push(m.text()));
    page.on("pageerror", (e) => trouble.push(String(e)));
    page.on("dialog", (d) => { trouble.push("dialog " + d.message()); d.dismiss(); });
    page.on("request", (r) => { if (r.url() !== url) trouble.push("asked for " + r.url()); });
    await page.setViewport({ width, height: 900 });
    await page.emulateMediaFeatures([{ name: "prefers-color-scheme", value: scheme }]);
    await page.goto(url);

    // Nothing sticks out of the page sideways.
    const over = await page.evaluate(() =>
      document.documentElement.scrollWidth - document.documentElement.clientWidth);
    check(`${name} as wide as the window`, over <= 0, `${over} px too wide`);

    // Of each picture one form is seen, with all it refers to.
    const pictures = await page.$$eval(".picture", (all) => all.map((picture) => {
      const seen = [...picture.children].filter((c) => c.getBoundingClientRect().height > 0);
      const svg = seen[0]?.querySelector("svg");
      const used = [...(svg?.outerHTML ?? "").matchAll(/url\(#([^)]+)\)/g)].map((m) => m[1]);
      return {
        seen: seen.length,
        marks: svg?.querySelectorAll("path,rect,text").length ?? 0,
        lost: used.filter((id) => !svg.querySelector("#" + CSS.escape(id))),
        type: Math.min(...[...(svg?.querySelectorAll("text") ?? [])].map((t) =>
          parseFloat(t.getAttribute("font-size")) * svg.getBoundingClientRect().width
            / svg.viewBox.baseVal.width)),
      };
    }));
    check(`${name} pictures`, pictures.length >= 3);
    for (const p of pictures) {
      check(`${name} a picture is drawn`, p.seen === 1 && p.marks > 10, JSON.stringify(p));
      check(`${name} a picture has what it refers to`, p.lost.length === 0, p.lost.join());
      check(`${name} type in a picture can be read`, p.type >= 9, `${p.type} px`);
    }
    // Names come from the file as text: nothing but the page's own script runs or loads.
    const foreign = await page.$$eval(
      "body *",
      (all) => all.filter((e) => ["IFRAME", "IMG", "OBJECT", "LINK", "A"].includes(e.tagName)
        && !(e.tagName === "A" && e.getAttribute("href").startsWith("#"))
        || [...e.attributes].some((a) => a.name.startsWith("on"))).length);
    check(`${name} nothing foreign`, foreign === 0, `${foreign}`);

    // Every curve says a value at the pointer and at the keys.
    const plots = await page.$$(".plot");
    for (const plot of plots) {
      await plot.scrollIntoView();
      const out = await plot.evaluateHandle((p) => p.closest(".chart").querySelector("output"));
      const text = () => out.evaluate((o) => o.textContent);
      const box = await plot.boundingBox();
      await page.mouse.move(box.x + 0.7 * box.width, box.y + 0.4 * box.height);
      const pointed = await text();
      check(`${name} a value at the pointer`, / at .*[\d]/.test(pointed), pointed);
      await plot.focus();
      await page.keyboard.press("Home");
      const first = await text();
      await page.keyboard.press("ArrowRight");
      const second = await text();
      const count = await plot.evaluate((p) => p.querySelector("[data-s]").querySelectorAll("[data-v]").length);
      check(`${name} a value at the keys`, count < 2 || first !== second, `${first} ${second}`);
      check(`${name} a value that is heard`,
        (await plot.evaluate((p) => p.getAttribute("aria-valuetext"))) === (await text()));
    }

    // Every head of every table sorts both ways, and says so.
    const sorted = await page.evaluate(() => {
      const wrong = [];
      document.querySelectorAll("details").forEach((d) => { d.open = true; });
      for (const table of document.querySelectorAll("table.sortable")) {
        [...table.tHead.rows[0].cells].forEach((head, i) => {
          const before = table.tBodies[0].rows.length;
          for (const way of ["ascending", "descending"]) {
            head.querySelector("button").click();
            const cells = [...table.tBodies[0].rows].map((r) => r.cells[i]);
            const values = cells.filter((c) => c.dataset.v).map((c) => Number(c.dataset.v));
            const sign = way === "ascending" ? 1 : -1;
            const rising = values.every((v, k) => k === 0 || sign * (v - values[k - 1]) >= 0);
            const last = cells.findIndex((c) => c.classList.contains("n") && !c.dataset.v);
            const tail = last < 0 || cells.slice(last).every((c) => !c.dataset.v);
            if (!rising || !tail || head.getAttribute("aria-sort") !== way
              || cells.length !== before) wrong.push(table.caption.textContent + i + way);
          }
        });
      }
      return { wrong, tables: document.querySelectorAll("table.sortable").length };
    });
    check(`${name} tables sort`, sorted.wrong.length === 0 && sorted.tables > 0, sorted.wrong.join());

    // What an accessibility checker finds, contrast among it.
    await page.evaluate(axe);
    const found = await page.evaluate(() => axe.run(document, {
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"],
    }));
    for (const v of found.violations) {
      check(`${name} axe ${v.id}`, false, v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + " " + n.any.map((a) => a.message).join()).join(" | "));
    }
    check(`${name} axe looked`, found.passes.length > 10, `${found.passes.length}`);
    check(`${name} no word on the console, no request`, trouble.length === 0, trouble.join(" | "));
    if (shots) {
      await page.evaluate(() => {
        document.querySelectorAll("details").forEach((d) => { d.open = false; });
        scrollTo(0, 0);
      });
      await page.screenshot({ path: join(shots, `${basename(path, ".html")}-${width}-${scheme}.png`), fullPage: true });
    }
    await page.close();
  }
}
for (const path of pictures) {
  const page = await browser.newPage();
  const bytes = (name) => readFileSync(name).toString("base64");
  const seen = await page.evaluate(async (svg, png) => {
    const drawn = async (url) => {
      const image = new Image();
      image.src = url;
      await image.decode();
      const canvas = new OffscreenCanvas(image.naturalWidth, image.naturalHeight);
      const pen = canvas.getContext("2d");
      pen.drawImage(image, 0, 0);
      return pen.getImageData(0, 0, canvas.width, canvas.height);
    };
    const a = await drawn("data:image/svg+xml;base64," + svg);
    const b = await drawn("data:image/png;base64," + png);
    if (a.width !== b.width || a.height !== b.height) return { apart: Infinity };
    // Means over squares: edges are smoothed in two ways, and type is set in two faces.
    const side = 8;
    let [squares, apart] = [0, 0];
    for (let y = 0; y + side <= a.height; y += side) {
      for (let x = 0; x + side <= a.width; x += side) {
        const sums = [0, 0, 0];
        for (let i = 0; i < side * side; i++) {
          const at = 4 * ((y + Math.floor(i / side)) * a.width + x + (i % side));
          for (let k = 0; k < 3; k++) sums[k] += a.data[at + k] - b.data[at + k];
        }
        squares++;
        if (Math.max(...sums.map(Math.abs)) > 24 * side * side) apart++;
      }
    }
    return { squares, apart: apart / squares };
  }, bytes(path), bytes(path.replace(/svg$/, "png")));
  check(`${basename(path)}: SVG and PNG agree`, seen.squares > 5000 && seen.apart < 0.01,
    JSON.stringify(seen));
  await page.close();
}
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exit(failed === 0 && passed > 0 ? 0 : 1);
