// The choice of light or dark: the system's until a person says otherwise, then remembered by this browser.
(() => {
  const root = document.documentElement;
  const system = matchMedia("(prefers-color-scheme: dark)");
  const chosen = () => { try { return localStorage.getItem("halfroll-theme"); } catch { return null; } };
  const show = () => {
    root.dataset.theme = chosen() || (system.matches ? "dark" : "light");
    for (const button of document.querySelectorAll("button.theme")) label(button);
    window.dispatchEvent(new Event("halfroll-theme"));
  };
  const label = (button) => {
    const dark = root.dataset.theme === "dark";
    button.textContent = dark ? "Light" : "Dark";
    button.setAttribute("aria-label", dark ? "Show light pages" : "Show dark pages");
  };
  system.addEventListener("change", show);
  document.addEventListener("click", (event) => {
    if (!event.target.closest?.("button.theme")) return;
    try { localStorage.setItem("halfroll-theme", root.dataset.theme === "dark" ? "light" : "dark"); } catch { /* private */ }
    show();
  });
  new MutationObserver(() => {
    const button = document.querySelector("button.theme");
    if (button && !button.textContent) label(button);
  }).observe(root, { childList: true, subtree: true });
  show();
})();

// What elements share that the server draws for their width and look: they tell both, at first and whenever either changes.
window.halfrollMeasured = {
  mounted() {
    this.watcher = new ResizeObserver(() => { clearTimeout(this.later); this.later = setTimeout(this.ask, 120); });
    this.watcher.observe(this.$el);
    window.addEventListener("halfroll-theme", this.ask);
  },
  beforeUnmount() {
    this.watcher.disconnect();
    clearTimeout(this.later);
    window.removeEventListener("halfroll-theme", this.ask);
  },
  methods: {
    ask() {
      const width = Math.floor(this.$el.clientWidth);
      const dark = document.documentElement.dataset.theme === "dark";
      const wanted = `${width} ${dark}`;
      if (!width || wanted === this.shown) return;
      this.shown = wanted;
      this.$emit("measure", { width, dark });
    },
  },
};

// Copying a text: where the browser does not allow it, the text is selected, and it is said what to press.
window.halfrollCopy = async (field, status) => {
  const box = document.getElementById(field);
  const said = document.getElementById(status);
  try {
    await navigator.clipboard.writeText(box.value);
    said.textContent = "Copied.";
  } catch {
    box.focus();
    box.select();
    said.textContent = "The browser does not let pages copy. The text is selected: press Ctrl+C, on a Mac ⌘C.";
  }
};
