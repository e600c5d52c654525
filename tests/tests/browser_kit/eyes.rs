//! What can be measured of a screen: by axe-core's rules, with text twice as large, by Tab alone.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::LazyLock;

use serde_json::Value;

use super::driver::{Browser, TAB};

/// Names the file of axe-core; `cargo xtask test` sets it. Else it is looked for beside the app.
const AXE: &str = "GUDGEON_AXE";

static RULES: LazyLock<String> = LazyLock::new(|| {
    let beside =
        || Some(PathBuf::from(std::env::var_os(super::APP)?).join("../axe/node_modules/axe-core/axe.min.js"));
    let path = std::env::var_os(AXE).map(PathBuf::from).or_else(beside).expect("GUDGEON_AXE");
    std::fs::read_to_string(path).expect("axe-core: `cargo xtask screens` fetches it")
});

/// What is too small, nameless or over the side, in words; CSS pixels, WCAG 2.2 asks for 24, the
/// trade's gloves for 48.
const WHOLE: &str = r#"
const found = [];
const name = (e) => (e.getAttribute('aria-label') || e.textContent || e.title || '').trim()
  || (e.labels && e.labels.length ? e.labels[0].textContent.trim() : '');
for (const e of document.querySelectorAll('button, a[href], input, select, textarea, [role=button]')) {
  const box = e.getBoundingClientRect();
  if (box.width === 0 && box.height === 0) continue;
  const target = e.closest('label') && (e.type === 'checkbox' || e.type === 'radio') ? e.closest('label').getBoundingClientRect() : box;
  if (target.height < 47.5 || target.width < 47.5) found.push(`small: ${Math.round(target.width)}x${Math.round(target.height)} "${name(e)}"`);
  if (!name(e)) found.push(`nameless: <${e.tagName.toLowerCase()} class="${e.getAttribute('class')}">`);
}
const over = document.documentElement.scrollWidth - document.documentElement.clientWidth;
if (over > 1) found.push(`${over} px over the side`);
return found;
"#;

/// Serious and critical findings of axe-core, each with its rule and where.
const JUDGE: &str = r"
const done = arguments[arguments.length - 1];
const loud = (one) => one.impact === 'serious' || one.impact === 'critical';
const words = (one) => one.nodes.map((node) => `${one.impact} ${one.id}: ${node.target.join(' ')} ${(node.any[0] || node.all[0] || node.none[0] || {}).message || one.help}`);
axe.run(document, { resultTypes: ['violations'] })
  .then((seen) => done(seen.violations.filter(loud).flatMap(words)), (error) => done([`axe: ${error}`]));
";

/// Text twice as large: what then runs over the side, or is cut.
const LARGE: &str = r#"
document.documentElement.style.fontSize = '200%';
const found = [];
const page = document.documentElement;
if (page.scrollWidth > page.clientWidth + 1) found.push(`large text: ${page.scrollWidth - page.clientWidth} px over the side`);
const own = (e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
for (const e of document.querySelectorAll('body *')) {
  if (!own(e) || !e.checkVisibility() || e.closest('svg, option')) continue;
  const style = getComputedStyle(e);
  const clips = (axis) => style[axis] !== 'visible';
  const cut = (clips('overflowX') && e.scrollWidth > e.clientWidth + 1) || (clips('overflowY') && e.scrollHeight > e.clientHeight + 1);
  const range = document.createRange();
  range.selectNodeContents(e);
  const text = range.getBoundingClientRect();
  const inner = e.closest('.scrolls, .printed') ? 0 : text.right - page.clientWidth;
  if (cut) found.push(`large text: cut in <${e.tagName.toLowerCase()} class="${e.className}"> "${e.textContent.trim().slice(0, 40)}"`);
  else if (inner > 1) found.push(`large text: ${Math.round(inner)} px over the side "${e.textContent.trim().slice(0, 40)}"`);
}
document.documentElement.style.fontSize = '';
return [...new Set(found)];
"#;

/// Begins to note where the focus goes, and answers how many places it must come to.
const NOTE_FOCUS: &str = r#"
const all = [...document.querySelectorAll('button, a[href], input, select, textarea, summary')]
  .filter((e) => !e.disabled && e.tabIndex >= 0 && e.checkVisibility());
window.unreached = new Set(all);
window.hidden = [];
const name = (e) => `<${e.tagName.toLowerCase()}> "${(e.getAttribute('aria-label') || e.textContent).trim().slice(0, 40)}"`;
window.nameOf = name;
if (!window.notes) document.addEventListener('focusin', (event) => {
  const e = event.target;
  window.unreached.delete(e);
  const box = e.getBoundingClientRect();
  const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
  if (top && !e.contains(top) && !top.contains(e)) window.hidden.push(`under another when reached by Tab: ${name(e)}`);
  const style = getComputedStyle(e);
  const marked = style.outlineStyle !== 'none' || e.closest('svg');
  if (!marked) window.hidden.push(`not marked when reached by Tab: ${name(e)}`);
});
window.notes = true;
document.activeElement.blur();
window.scrollTo(0, 0);
return all.length;
"#;

const UNREACHED: &str = "return [...window.unreached].map((e) => `not reached by Tab: ${window.nameOf(e)}`).concat(window.hidden)";

fn words(of: &Value) -> Vec<String> {
    of.as_array().unwrap().iter().map(|what| what.as_str().unwrap().to_owned()).collect()
}

/// Targets and names, and nothing over the side.
pub fn whole(phone: &Browser) -> Vec<String> {
    words(&phone.script(WHOLE))
}

/// What axe-core finds serious or critical.
pub fn judged(phone: &Browser) -> Vec<String> {
    if phone.script("return typeof window.axe") == "undefined" {
        phone.script(&format!("{}\nwindow.axe = axe;", *RULES));
    }
    words(&phone.script_later(JUDGE))
}

/// With text twice as large.
pub fn large(phone: &Browser) -> Vec<String> {
    words(&phone.script(LARGE))
}

/// Everything is reached by Tab alone, is marked then, and lies under nothing.
pub fn by_tab(phone: &Browser) -> Vec<String> {
    let places = phone.script(NOTE_FOCUS).as_u64().unwrap();
    let tabs = usize::try_from(places).unwrap() + 2;
    phone.keys(&TAB.to_string().repeat(tabs));
    let found: BTreeSet<String> = words(&phone.script(UNREACHED)).into_iter().collect();
    found.into_iter().collect()
}
