"""On a phone the navigation lies over the page: it folds away once a page is chosen, and after a reload."""

from __future__ import annotations

from inspect_core.screens.speaking import st

#: Below this width the navigation is a drawer over the page and no longer a row above it.
_SCRIPT = """<script>
(() => {
  const drawer = () => document.querySelector('[data-testid="stSidebar"]');
  const fold = () => {
    if (!matchMedia('(max-width: 767.98px)').matches) return;
    if (drawer()?.dataset.collapsed === 'false') {
      drawer().querySelector('[data-testid="stSidebarCollapseButton"] button')?.click();
    }
  };
  if (globalThis.bartackFolds) return;
  globalThis.bartackFolds = true;
  document.addEventListener('click', (event) => {
    if (event.target.closest?.('[data-testid="stSidebarNavLink"]')) setTimeout(fold, 150);
  });
  setTimeout(fold, 300);
})();
</script>"""


def on_phones() -> None:
    """Draw this once on every page; it shows nothing."""
    st.html(_SCRIPT, unsafe_allow_javascript=True)
