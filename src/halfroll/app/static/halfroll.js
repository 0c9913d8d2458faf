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
