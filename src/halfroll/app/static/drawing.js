// A drawing to scale, made by the server for this width and look, with handles that are dragged or moved by the arrow keys.
// A handle says its key and new value; while it is dragged the drawing under it may be replaced at any time.
const STEP = 0.1, FAR = 1;

export default {
  template: `<div class="board"><div ref="paper"></div></div>`,
  mixins: [window.halfrollMeasured],
  emits: ["measure", "moved"],
  methods: {
    draw(svg, handles) {
      this.$refs.paper.innerHTML = svg;
      this.$el.dataset.drawn = this.shown;
      const picture = this.$refs.paper.querySelector("svg");
      picture.onclick = (event) => {
        const key = event.target.closest("[data-key]")?.dataset.key; // a dimension leads to its field
        const field = key && document.querySelector(`[name="${CSS.escape(key)}"]`);
        if (field) {
          field.closest("details")?.setAttribute("open", "");
          field.scrollIntoView({ block: "center" });
          field.focus({ preventScroll: true });
          return;
        }
        const one = event.target.closest("[data-body], [data-part]");
        this.show(one?.dataset.body ?? one?.dataset.part);
      };
      this.scale = Number(picture.dataset.pxPerMm);
      const axis = Number(picture.dataset.axis), zero = Number(picture.dataset.zero);
      const kept = new Map([...this.$el.querySelectorAll(".handle")].map((one) => [one.dataset.key, one]));
      for (const handle of handles) {
        const knob = kept.get(handle.key) ?? this.knob();
        kept.delete(handle.key);
        knob.handle = handle;
        knob.dataset.key = handle.key;
        knob.className = `handle ${handle.axis}`;
        knob.style.left = `${axis + this.scale * handle.r}px`;
        knob.style.top = `${zero - this.scale * handle.z}px`;
        const [left, right, top, bottom] = picture.dataset.view.split(" ").map(Number);
        const x = parseFloat(knob.style.left), y = parseFloat(knob.style.top);
        const inside = x >= left && x <= right && y >= top && y <= bottom;
        knob.hidden = !inside && knob !== this.held?.knob;
        knob.title = `${handle.label}: ${handle.value} ${handle.unit}`;
        this.say(knob, handle.value);
      }
      for (const old of kept.values()) if (old !== this.held?.knob) old.remove();
    },
    show(part) { // a click on a part leads to its fields, which the Tab key reaches as well
      const fields = [...document.querySelectorAll("fieldset[data-part]")].find((one) => one.dataset.part === part);
      fields?.scrollIntoView({ block: "center" });
      fields?.querySelector("input, select")?.focus({ preventScroll: true });
    },
    knob() {
      const knob = document.createElement("div");
      knob.tabIndex = 0;
      knob.setAttribute("role", "slider");
      knob.addEventListener("pointerdown", (event) => this.take(event, knob));
      knob.addEventListener("pointermove", (event) => this.drag(event));
      knob.addEventListener("pointerup", () => this.drop());
      knob.addEventListener("pointercancel", () => this.drop());
      knob.addEventListener("keydown", (event) => this.step(event, knob));
      this.$el.append(knob);
      return knob;
    },
    say(knob, value) {
      const handle = knob.handle;
      knob.setAttribute("aria-label", handle.label);
      knob.setAttribute("aria-orientation", handle.axis === "r" ? "horizontal" : "vertical");
      knob.setAttribute("aria-valuenow", value);
      knob.setAttribute("aria-valuemin", handle.least);
      knob.setAttribute("aria-valuemax", handle.most);
      knob.setAttribute("aria-valuetext", `${value} ${handle.unit}`);
    },
    take(event, knob) {
      event.preventDefault();
      knob.focus();
      knob.setPointerCapture(event.pointerId);
      const handle = knob.handle;
      this.held = { knob, handle, x: event.clientX, y: event.clientY, start: Number(handle.value), scale: this.scale,
                    left: parseFloat(knob.style.left), top: parseFloat(knob.style.top) };
      knob.classList.add("held");
    },
    drag(event) {
      const held = this.held;
      if (!held) return;
      const along = held.handle.axis === "r" ? event.clientX - held.x : held.y - event.clientY;
      const grain = held.handle.grain;
      const value = Math.round((held.start + held.handle.factor * along / held.scale) / grain) * grain;
      this.tell(held.handle, value, false);
    },
    drop() {
      const held = this.held;
      this.held = null;
      if (!held) return;
      held.knob.classList.remove("held");
      if (this.last?.key === held.handle.key) this.$emit("moved", { ...this.last, done: true });
      this.last = null;
    },
    step(event, knob) {
      const handle = knob.handle;
      const way = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      if (!way) return;
      event.preventDefault();
      const size = handle.grain >= 1 ? handle.grain : event.shiftKey ? FAR : STEP;
      const sign = handle.factor < 0 && handle.axis === "r" ? -1 : 1;
      this.tell(handle, Number(handle.value) + sign * way * size, true);
    },
    tell(handle, wanted, done) {
      const value = Number(Math.min(Math.max(wanted, handle.least), handle.most).toFixed(3));
      if (this.last?.key === handle.key && this.last.value === value && !done) return;
      this.last = { key: handle.key, value, first: this.last?.key !== handle.key };
      if (done) handle.value = value; // so that a second press goes on from here
      clearTimeout(this.telling);
      const say = () => this.$emit("moved", { ...this.last, done });
      if (done) { say(); this.last = null; }
      else this.telling = setTimeout(say, 40);
    },
  },
};
