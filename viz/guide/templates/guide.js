"use strict";
// The vocabulary that is shown.
const root = document.documentElement;
const choice = document.querySelector("[data-switch]");
choice.addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  root.dataset.showVocabulary = button.dataset.value;
  for (const each of choice.querySelectorAll("button")) {
    each.setAttribute("aria-pressed", String(each === button));
  }
  search();
});

// Each heading with what stands below it. Answers are not told before they are opened.
const passages = [];
for (const article of document.querySelectorAll("article")) {
  let passage = { title: article.querySelector("h2"), place: article.id, blocks: [] };
  const topic = passage.title;
  passages.push(passage);
  for (const block of article.children) {
    if (block.tagName === "H3") {
      passage = { topic, title: block, place: block.id, blocks: [] };
      passages.push(passage);
    } else if (block !== topic && !block.matches(".answer")) {
      passage.blocks.push(block);
    }
  }
}

// Text as it is seen: without the words of the other vocabulary.
function seen(element) {
  const copy = element.cloneNode(true);
  const other = root.dataset.showVocabulary === "earth" ? "ground" : "earth";
  for (const hidden of copy.querySelectorAll(`[data-vocabulary="${other}"]`)) hidden.remove();
  return copy.textContent.replace(/\s+/g, " ").trim();
}

const field = document.getElementById("find");
const found = document.getElementById("found");
const most = 20;

function search() {
  const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
  found.hidden = words.length === 0;
  found.replaceChildren();
  if (found.hidden) return;
  const hits = [];
  for (const passage of passages) {
    const title = seen(passage.title);
    const topic = passage.topic ? seen(passage.topic) : "";
    const text = passage.blocks.map(seen).join(" ");
    const whole = `${topic} ${title} ${text}`.toLowerCase();
    if (words.every((word) => whole.includes(word))) {
      const named = words.filter((word) => title.toLowerCase().includes(word)).length;
      hits.push({ passage, title, topic, text, named });
    }
  }
  hits.sort((one, other) => other.named - one.named);
  for (const hit of hits.slice(0, most)) found.append(line(hit, words));
  const told = document.createElement("p");
  told.textContent = hits.length > most ? `${most} of ${hits.length} places shown`
    : hits.length === 1 ? "1 place" : `${hits.length} places`;
  found.prepend(told);
}

function line({ passage, title, topic, text }, words) {
  const link = document.createElement("a");
  link.href = `#${passage.place}`;
  link.append(topic ? `${topic}: ${title}` : title);
  const lower = text.toLowerCase();
  const at = words.map((word) => lower.indexOf(word)).find((place) => place >= 0) ?? 0;
  const from = at < 40 ? 0 : lower.indexOf(" ", at - 40) + 1;
  const excerpt = document.createElement("span");
  const to = text.length > from + 130 ? text.lastIndexOf(" ", from + 130) : text.length;
  marked(excerpt, (from ? "… " : "") + text.slice(from, to) + (to < text.length ? " …" : ""), words);
  link.append(excerpt);
  return link;
}

function marked(target, text, words) {
  let rest = text;
  while (rest) {
    const lower = rest.toLowerCase();
    const hits = words.map((word) => [lower.indexOf(word), word.length]).filter(([at]) => at >= 0);
    if (!hits.length) break;
    const [at, length] = hits.sort((one, other) => one[0] - other[0])[0];
    const mark = document.createElement("mark");
    mark.textContent = rest.slice(at, at + length);
    target.append(rest.slice(0, at), mark);
    rest = rest.slice(at + length);
  }
  target.append(rest);
}

field.addEventListener("input", search);
found.addEventListener("click", (event) => {
  if (!event.target.closest("a")) return;
  field.value = "";
  search();
});
window.addEventListener("beforeprint", () => {
  for (const answer of document.querySelectorAll(".answer")) answer.open = true;
});
