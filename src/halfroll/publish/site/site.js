// Makes the curves of a page live: pointer and arrow keys read values, versions can be taken out. Everything stands in the page already;
// without this script the pictures stay as they are.
(() => {
  "use strict";
  if (typeof window.vegaEmbed !== "function") return;
  const dark = window.matchMedia("(prefers-color-scheme: dark)");
  const options = { actions: false, renderer: "svg", mode: "vega-lite", ast: true, defaultStyle: false, tooltip: false, logLevel: 1 };

  class Live {
    constructor(figure) {
      this.figure = figure;
      this.holder = figure.querySelector(".live");
      this.readout = figure.querySelector("[aria-live]");
      this.forms = JSON.parse(figure.querySelector("script[type='application/json']").textContent);
      this.series = figure.dataset.series.split(" ");
      this.label = figure.querySelector("svg")?.getAttribute("aria-label") ?? figure.getAttribute("aria-label");
      this.hidden = new Set();
      this.holder.addEventListener("keydown", (event) => this.step(event));
    }
    form() {
      const look = dark.matches ? "dark" : "light";
      const fitting = this.forms.forms.filter((one) => one.look === look && one.width <= this.figure.clientWidth);
      return fitting.at(-1) ?? this.forms.forms.find((one) => one.look === look);
    }
    async draw() {
      const form = this.form();
      const state = `${form.look} ${form.width} ${[...this.hidden].join(" ")}`;
      if (state === this.state) return;
      this.state = state;
      const datasets = {};
      for (const [name, place] of Object.entries(form.data)) {
        datasets[name] = this.forms.pool[place].filter((row) => !("s" in row) || !this.hidden.has(this.series[row.s]));
      }
      try {
        this.holder.hidden = false;
        const made = await window.vegaEmbed(this.holder, { ...form.spec, datasets }, options);
        this.view?.finalize();
        this.view = made.view;
        this.learn(form.spec, datasets);
        this.figure.classList.add("drawn");
        this.figure.dataset.drawn = state;
      } catch (fault) {
        this.holder.hidden = true;
        this.figure.classList.remove("drawn");
      }
    }
    learn(spec, datasets) {
      this.rows = datasets.hover ?? [];
      this.names = new Map((datasets.names ?? []).map((row) => [row.s, row.name]));
      this.stops = [...new Set(this.rows.map((row) => row.x))].sort((a, b) => a - b);
      const written = JSON.stringify(spec.layer).match(/format\(datum\.y, '[^']*'\).*?\+ '([^']*)'"/);
      this.unit = written ? written[1] : "";
      this.at = -1;
      this.holder.setAttribute("role", "img");
      this.holder.setAttribute("aria-label", this.label + (this.stops.length ? " Arrow keys read values." : ""));
      if (this.stops.length) this.holder.tabIndex = 0;
    }
    step(event) {
      const last = (this.stops?.length ?? 0) - 1;
      const to = { ArrowRight: this.at + 1, ArrowLeft: this.at < 0 ? last : this.at - 1, Home: 0, End: last }[event.key];
      if (to === undefined || last < 0) return;
      event.preventDefault();
      this.at = Math.min(Math.max(to, 0), last);
      const x = this.stops[this.at];
      this.point(x);
      this.readout.textContent = `${Number(x.toPrecision(3))}: ` + this.rows.filter((row) => row.x === x)
        .map((row) => `${this.names.get(row.s) ?? ""} ${row.b ? "at most " : ""}${Number(row.y.toPrecision(3))}${this.unit}`)
        .join("; ");
    }
    point(x) {
      const box = this.holder.querySelector("svg").getBoundingClientRect();
      const place = {
        clientX: box.left + this.view.origin()[0] + this.view.scale("x")(x),
        clientY: box.top + this.view.origin()[1] + this.view.height() / 2,
      };
      document.elementFromPoint(place.clientX, place.clientY)
        ?.dispatchEvent(new PointerEvent("pointermove", { ...place, bubbles: true }));
    }
  }

  const charts = [...document.querySelectorAll("figure[data-chart]")].map((figure) => new Live(figure));
  const all = async () => { for (const chart of charts) await chart.draw(); };
  for (const box of document.querySelectorAll("[data-choose] .choose")) {
    box.hidden = false;
    box.addEventListener("change", () => {
      const off = [...box.querySelectorAll("input:not(:checked)")].map((input) => input.value);
      for (const chart of charts) chart.hidden = new Set(off);
      void all();
    });
  }
  dark.addEventListener("change", () => void all());
  let waiting = 0;
  new ResizeObserver(() => { clearTimeout(waiting); waiting = setTimeout(() => void all(), 150); }).observe(document.body);
  void all();
})();
