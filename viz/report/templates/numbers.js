"use strict";
// Numbers as the rest of ohmscape prints them; the tests hold both against each other.
const data = JSON.parse(document.getElementById("report-data").textContent);
const root = document.documentElement;
const shown = {
  get units() { return root.dataset.showUnits; },
  get vocabulary() { return root.dataset.showVocabulary; },
};
const redraw = [];

function term(key) { return data.terms[key][shown.vocabulary === "earth" ? 0 : 1]; }
function minus(text) { return text.replace("-", "−"); }

function significant(value, figures = 3) {
  if (value === 0) return "0";
  if (!Number.isFinite(value)) return String(value);
  const rounded = Number(Math.abs(value).toPrecision(figures));
  const digits = figures - 1 - Math.floor(Math.log10(rounded) + 1e-12);
  return (value < 0 ? "−" : "") + rounded.toFixed(Math.max(0, digits));
}

// A share of a limit shows on which side of all of it it lies.
function shareText(value) {
  const told = (n) => Math.sign(Number(value.toPrecision(n)) - 100) === Math.sign(value - 100);
  return `${significant(value, [3, 4, 5, 6, 7, 8].find(told))} %`;
}

const prefixes = { "-2": "µ", "-1": "m", 0: "", 1: "k", 2: "M" };
function scaledUnit(largest, symbol) {
  const size = Math.abs(largest);
  let power = size === 0 ? 0 : Math.floor(Math.log10(size * (1 + 1e-9)) / 3);
  power = Math.min(Math.max(power, -2), 2);
  return { factor: 1000 ** -power, symbol: prefixes[power] + symbol };
}
function withUnit(value, symbol) {
  const unit = scaledUnit(value, symbol);
  return `${significant(value * unit.factor)} ${unit.symbol}`;
}
function lengthUnit() {
  return shown.units === "US" ? { factor: 1 / 0.3048, symbol: "ft" } : { factor: 1, symbol: "m" };
}
function lengthText(value) {
  const unit = lengthUnit();
  return `${significant(value * unit.factor)} ${unit.symbol}`;
}
function placeText(x, y) {
  const unit = lengthUnit();
  const [a, b] = [x, y].map((v) => minus((Math.round(v * unit.factor * 100) / 100 + 0).toFixed(2)));
  return `(${a}, ${b}) ${unit.symbol}`;
}
function short(value) { return minus(String(Number(value.toPrecision(6)))); }

function unpack(text, kind = "f4") {
  const bytes = Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
  const type = { f4: Float32Array, u4: Uint32Array, u2: Uint16Array, u1: Uint8Array, i1: Int8Array }[kind];
  return new type(bytes.buffer);
}
function roundStep(span, parts) {
  const rough = span / parts;
  const decade = 10 ** Math.floor(Math.log10(rough));
  return [1, 2, 2.5, 5, 10].map((m) => m * decade).find((step) => step >= rough * 0.999);
}
function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "class") made.className = value;
    else if (key === "colour") made.style.backgroundColor = value;
    else made.setAttribute(key, value);
  }
  made.append(...children);
  return made;
}
