"use strict";
(() => {
  const said = document.getElementById("said");

  // Tables: a click on a head sorts by it, another turns the order; what has no value stays last.
  for (const table of document.querySelectorAll("table.sortable")) {
    const body = table.tBodies[0];
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      head.querySelector("button").addEventListener("click", () => {
        const up = head.getAttribute("aria-sort") !== "ascending";
        const sign = up ? 1 : -1;
        const key = (row) => {
          const cell = row.cells[column];
          if (cell.dataset.v !== undefined) return Number(cell.dataset.v);
          return cell.classList.contains("n") ? null : cell.textContent;
        };
        const rows = [...body.rows].map((row) => [key(row), row]);
        const none = (k) => k === null || k === "";
        rows.sort(([a], [b]) => {
          if (none(a) || none(b)) return none(a) - none(b);
          if (typeof a === "number") return sign * (a - b);
          return sign * a.localeCompare(b, "en", { numeric: true });
        });
        body.append(...rows.map(([, row]) => row));
        heads.forEach((other) => other.setAttribute("aria-sort", "none"));
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        said.textContent = "Sorted by " + head.textContent + (up ? ", rising" : ", falling");
      });
    });
  }

  // Curves: the value nearest to the pointer, or the one that the arrow keys have come to.
  for (const chart of document.querySelectorAll(".chart")) {
    const plot = chart.querySelector(".plot");
    const svg = plot.querySelector("svg");
    const out = chart.querySelector("output");
    const ring = svg.querySelector(".at");
    const { x: across, xu, y: up, yu } = svg.dataset;
    const unit = (u) => (u === "" ? "" : "\u00a0" + u);
    const several = svg.querySelectorAll("[data-s]").length > 1;
    const series = [...svg.querySelectorAll("[data-s]")].map((group) =>
      [...group.querySelectorAll("[data-v]")].map((mark) => {
        const [, x, y] = mark.getAttribute("d").match(/^M(-?[\d.]+) (-?[\d.]+)/);
        const [vx, vy] = mark.dataset.v.split("|");
        const own = mark.dataset.l ?? (several ? group.dataset.s : "");
        const name = own === "" ? "" : own + ": ";
        const text = name + up + " " + vy + unit(yu) + " at " + across + " " + vx + unit(xu);
        return { x: Number(x), y: Number(y), text };
      }));
    const all = series.flat();
    let now = null;
    const show = (point) => {
      if (point === undefined || point === now) return;
      now = point;
      ring.removeAttribute("visibility");
      ring.setAttribute("cx", point.x);
      ring.setAttribute("cy", point.y);
      out.textContent = point.text;
      plot.setAttribute("aria-valuenow", all.indexOf(point) + 1);
      plot.setAttribute("aria-valuetext", point.text);
    };
    const nearest = (points, x, y) => {
      let best;
      let least = Infinity;
      for (const point of points) {
        const far = (point.x - x) ** 2 + (point.y - y) ** 2;
        if (far < least) [least, best] = [far, point];
      }
      return best;
    };
    const pointed = (event) => {
      const box = svg.getBoundingClientRect();
      const scale = svg.viewBox.baseVal.width / box.width;
      show(nearest(all, (event.clientX - box.left) * scale, (event.clientY - box.top) * scale));
    };
    plot.addEventListener("pointermove", pointed);
    plot.addEventListener("pointerdown", pointed);
    plot.addEventListener("keydown", (event) => {
      const row = Math.max(0, series.findIndex((points) => points.includes(now)));
      const at = series[row].indexOf(now);
      const other = (by) => {
        const rows = series.length;
        for (let i = 1; i <= rows; i++) {
          const points = series[(row + by * i + rows * i) % rows];
          if (points.length > 0) return nearest(points, now ? now.x : 0, now ? now.y : 0);
        }
      };
      const to = {
        ArrowRight: () => series[row][Math.min(at + 1, series[row].length - 1)],
        ArrowLeft: () => series[row][Math.max(at - 1, 0)],
        ArrowDown: () => other(1),
        ArrowUp: () => other(-1),
        Home: () => series[row][0],
        End: () => series[row][series[row].length - 1],
      }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      show(to());
    });
  }

  // On paper the files are open; of what else is folded what the reader has opened.
  addEventListener("beforeprint", () => {
    for (const folded of document.querySelectorAll("#again details:not([open])")) {
      folded.open = true;
      addEventListener("afterprint", () => { folded.open = false; }, { once: true });
    }
  });
})();
