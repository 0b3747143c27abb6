"use strict";
// Lengths: the rules of src/readings/length, in the same order and words. tests/form.rs holds the two together.
const tautgrid = (() => {
  const MM = { mm: 1, cm: 10, m: 1000, inch: 25.4, ft: 304.8 };
  const NAMES = {
    mm: "mm millimetre millimetres millimeter millimeters", cm: "cm centimetre centimetres centimeter centimeters",
    m: "m metre metres meter meters", inch: "in inch inches \"", ft: "ft foot feet '",
  };
  const VULGAR = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅓": "1/3", "⅔": "2/3" };
  class Refused extends Error {
    constructor(why, help) { super(why); this.why = why; this.help = help || ""; }
  }
  const refuse = (why, help) => { throw new Refused(why, help); };

  // One spelling for each sign.
  function plain(text) {
    let out = "";
    for (const c of text) {
      if ("\u00a0\u2007\u2009\u202f\t".includes(c)) out += " ";
      else if ("\u2032\u2018\u2019\u00b4`".includes(c)) out += "'";
      else if ("\u2033\u201c\u201d".includes(c)) out += '"';
      else if ("\u2212\u2010\u2011\u2013".includes(c)) out += "-";
      else if ("\u2044\u2215".includes(c)) out += "/";
      else if (VULGAR[c]) out += (/[0-9]$/.test(out) ? " " : "") + VULGAR[c];
      else out += c;
    }
    return out.replaceAll("''", '"');
  }

  function unitNamed(name) {
    const word = plain(name.trim()).toLowerCase().replace(/\.+$/, "");
    return Object.keys(NAMES).find((unit) => NAMES[unit].split(" ").includes(word));
  }

  function number(word) {
    const dots = word.split(".").length - 1, commas = word.split(",").length - 1;
    if (dots + commas > 1) {
      const dot = word.lastIndexOf("."), comma = word.lastIndexOf(",");
      let help = "";
      if (dots === 1 && commas > 0 && dot > comma) help = word.replaceAll(",", "");
      else if (commas === 1 && dots > 0 && comma > dot) help = word.replaceAll(".", "").replaceAll(",", ".");
      refuse("it has more than one decimal sign", help && `write ${help}, without marks for thousands`);
    }
    if (commas === 1) {
      const [before, after] = word.split(",");
      if (after.length === 3 && before.replace(/^0+/, "") !== "") {
        refuse("the comma could mark thousands or decimals", `write ${before}${after} or ${before}.${after}`);
      }
    }
    const digits = word.replace(",", ".");
    const value = /[0-9]/.test(digits) ? Number(digits) : NaN;
    if (!Number.isFinite(value)) refuse("this is no number");
    return { kind: "number", value, whole: dots + commas === 0 };
  }

  function fractionOf(above, below) {
    const counted = (s) => /^[0-9]+$/.test(s) && Number(s) <= 4294967295;
    if (!counted(above) || !counted(below)) refuse("this is no fraction", "write it as 5/8");
    const n = Number(above), parts = Number(below);
    if (![2, 3, 4, 8, 10, 16, 32, 64, 100].includes(parts)) {
      refuse("no tape shows such a fraction", "halves, 4ths, 8ths, 16ths, 32nds or 64ths");
    }
    if (n === 0 || n >= parts) refuse("the fraction is not between 0 and 1", "write 1 1/4 for 5/4");
    return { kind: "fraction", value: n / parts, parts };
  }

  function pieces(text) {
    const found = [];
    let rest = text.trim();
    while (rest) {
      let m;
      if ((m = /^[0-9.,]+/.exec(rest))) {
        const after = rest.slice(m[0].length).trimStart();
        if (after.startsWith("/")) {
          const below = after.slice(1).trimStart();
          const digits = /^[0-9]*/.exec(below)[0];
          found.push(fractionOf(m[0], digits));
          rest = below.slice(digits.length);
        } else {
          found.push(number(m[0]));
          rest = after;
        }
      } else if (rest[0] === "-") {
        found.push({ kind: "hyphen" });
        rest = rest.slice(1);
      } else if (rest[0] === '"' || rest[0] === "'") {
        found.push({ kind: "unit", unit: unitNamed(rest[0]) });
        rest = rest.slice(1);
      } else if (rest[0] === "+") {
        refuse("a plus sign stands before the number", "write the number alone");
      } else if ((m = /^\p{Alphabetic}[\p{Alphabetic}.]*/u.exec(rest))) {
        const unit = unitNamed(m[0]);
        if (!unit) refuse([...m[0]].length === 1 ? `it has the letter ${m[0]} in it` : `it has the word "${m[0]}" in it`);
        found.push({ kind: "unit", unit });
        rest = rest.slice(m[0].length);
      } else {
        refuse(`it has the character '${[...rest][0]}' in it`);
      }
      rest = rest.trimStart();
    }
    return found;
  }

  function withFraction(value, parts, unit, usual) {
    if (unit) return { mm: value * MM[unit], assumed: false };
    if (usual === "inch") return { mm: value * MM.inch, assumed: false };
    if (parts >= 8) return { mm: value * MM.inch, assumed: true };
    return refuse("a fraction without a unit could be mm or inches here", `write ${value} for mm, or put the inch mark " behind the fraction`);
  }

  function parse(text, usual) {
    let list = pieces(text), unit;
    if (list.length && list[list.length - 1].kind === "unit") unit = list.pop().unit;
    const form = list.map((p) => (p.kind === "number" ? (p.whole ? "W" : "D") : p.kind === "unit" ? (p.unit === "ft" ? "F" : "U") : p.kind[0])).join("");
    const last = list[list.length - 1];
    if (form === "W" || form === "D") return { mm: list[0].value * MM[unit || usual], assumed: false };
    if (form === "f") return withFraction(last.value, last.parts, unit, usual);
    if (form === "Wf" || form === "Whf") return withFraction(list[0].value + last.value, last.parts, unit, usual);
    if (form.startsWith("WF")) {
      const rest = form.slice(2).replace(/^h/, "");
      let inches;
      if (["W", "D", "f"].includes(rest)) inches = last.value;
      else if (rest === "Wf" || rest === "Whf") inches = list[list.length - rest.length].value + last.value;
      else refuse("feet are not followed by inches", "write it as 4' 0 5/8\"");
      if (unit && unit !== "inch") refuse("feet are followed by another unit than inches", "write it as 4' 0 5/8\"");
      if (inches >= 12) refuse("12 or more inches follow the feet");
      return { mm: (list[0].value * 12 + inches) * MM.inch, assumed: false };
    }
    if (form.startsWith("h")) refuse("a distance is not negative", "write it without the minus");
    if (/^D.*f$/.test(form)) refuse("a decimal number is followed by a fraction", "write 48.625 or 48 5/8");
    if (/^[WD][WD]$/.test(form)) refuse("two numbers stand in one cell");
    return refuse(form === "" ? "there is no number" : "this is no length");
  }

  function didYouMean(text, usual) {
    if (!/[0-9]/.test(text)) return "";
    const like = { l: "1", I: "1", "|": "1", i: "1", "!": "1", O: "0", o: "0", S: "5", s: "5", B: "8", Z: "2", z: "2", ":": "." };
    const groups = text.split(/[ ']/);
    const thousands = groups.length > 1 && groups.slice(1).every((g) => /^[0-9]*/.exec(g)[0].length === 3);
    const guesses = [[...text].map((c) => like[c] || c).join(""), text.replaceAll("..", ".").replaceAll(",,", ","), thousands ? groups.join("") : text];
    const guess = guesses.find((g) => { try { parse(g, usual); return g !== text; } catch { return false; } });
    return guess ? `did you mean ${guess}?` : "";
  }

  // A length in mm, whether inches were assumed; or throws why it is none. `usual` is mm or inch.
  function read(text, usual) {
    const tidy = plain(text.trim());
    if ([...tidy].length > 60) refuse("it is too long for a length");
    let length;
    try {
      length = parse(tidy, usual);
    } catch (e) {
      if (e instanceof Refused && !e.help) e.help = didYouMean(tidy, usual);
      throw e;
    }
    if (length.mm <= 0) refuse("a distance is more than zero", "leave it empty for a distance not yet taken");
    if (length.mm > 20000) refuse(`that is ${(length.mm / 1000).toFixed(1)} m`, "at most 20 m; is the decimal point or the unit missing?");
    return length;
  }

  // The mark at which a tape is started, mm.
  function readStart(text, usual) {
    const word = text.trim().toLowerCase();
    if (word === "" || ["hook", "zero", "none", "end"].includes(word) || /^[+-]?(0+\.?0*|\.0+)$/.test(word)) return 0;
    return read(text, usual).mm;
  }

  return { read, readStart, Refused };
})();

// The page.
(() => {
  const unit = document.body.dataset.unit, one = unit === "mm" ? 1 : 25.4, short = unit === "mm" ? "mm" : "in";
  const hole = Number(document.body.dataset.hole), name = document.body.dataset.store;
  const $ = (id) => document.getElementById(id);
  const rows = [...document.querySelectorAll("li")];
  const show = (mm) => `${(mm / one).toFixed(unit === "mm" ? 1 : 3).replace(/\.?0+$/, "")} ${short}`;
  const parts = (row) => ({
    reading: row.querySelector(".reading"), again: row.querySelector(".again"), how: row.querySelector("select"),
    note: row.querySelector(".note input"), said: row.querySelector(".said"),
  });
  const say = (where, text, bad) => { where.textContent = text; where.classList.toggle("bad", !!bad); where.classList.toggle("good", !bad && text !== ""); };

  // What is to be said of one reading: its words, and whether something is wrong with it.
  function judge(row, text, start, how) {
    try {
      const length = tautgrid.read(text, unit);
      const usual = Number(row.dataset.start);
      const from = row.dataset.tape ? (start === undefined || start === "" ? usual : tautgrid.readStart(start, unit)) : 0;
      const range = Number(row.dataset.range);
      if (range && length.mm > range) return { bad: true, words: `Longer than the ${row.querySelector(".with").textContent} reads: ${show(length.mm)}.` };
      if (length.mm <= from) return { bad: true, words: `It ends before the tape was started, at ${show(from)}.` };
      const edge = ["left", "right", "top", "bottom"].some((e) => row.dataset.from === e || row.dataset.to === e);
      const rims = (edge ? hole / 2 : hole) * ({ inside: 1, outside: -1 }[how] || 0);
      const distance = length.mm - from + rims;
      if (distance <= 0) return { bad: true, words: "It is shorter than the holes are wide." };
      if (distance < Number(row.dataset.low) || distance > Number(row.dataset.high)) {
        return { bad: true, words: `${show(length.mm)}: outside ${show(Number(row.dataset.low) + from)} to ${show(Number(row.dataset.high) + from)}. Which holes are they? Read again.`, taken: true };
      }
      return { words: (length.assumed ? "Taken as inches: " : "Taken: ") + show(length.mm) + (from > 0 ? ` from the mark ${show(from)}` : "") + ".", taken: true };
    } catch (e) {
      if (!(e instanceof tautgrid.Refused)) throw e;
      return { bad: true, words: `Not a length: ${e.why}${e.help ? ` (${e.help})` : ""}.` };
    }
  }

  function look(row) {
    const p = parts(row);
    const said = [];
    let bad = false, taken = false;
    for (const field of [p.reading, p.again]) {
      const text = field.value.trim();
      const verdict = text ? judge(row, text, field.dataset.start, p.how.value) : { words: "" };
      field.classList.toggle("wrong", !!verdict.bad);
      field.setAttribute("aria-invalid", verdict.bad ? "true" : "false");
      if (verdict.words) said.push(verdict.words);
      bad = bad || !!verdict.bad;
      taken = taken || !!verdict.taken;
    }
    say(p.said, said.join(" "), bad);
    return { bad, taken };
  }

  const cell = (text) => (/[",\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const guarded = (note) => (/^'*[=+\-@]/.test(note) ? `'${note}` : note);
  // A fraction taken as inches is written down with its mark, so that nobody has to guess again.
  function spelled(text) {
    try { return tautgrid.read(text, unit).assumed ? `${text}"` : text; } catch { return text; }
  }
  function csv() {
    const lines = ["from,to,reading,how,instrument,note,start"];
    for (const row of rows) {
      const p = parts(row);
      for (const field of [p.reading, p.again]) {
        const text = field.value.trim();
        if (!text && field === p.again) continue;
        const start = text && row.dataset.tape ? field.dataset.start || "" : "";
        const note = guarded(p.note.value.trim().replace(/[\n\r\t]/g, " "));
        lines.push([row.dataset.from, row.dataset.to, text && spelled(text), p.how.value, row.dataset.instrument, field === p.again ? "" : note, start].map(cell).join(","));
      }
    }
    return lines.join("\n") + "\n";
  }

  function keep() {
    const all = rows.map((row) => {
      const p = parts(row);
      return [p.reading.value, p.again.value, p.how.value, p.note.value, p.reading.dataset.start || "", p.again.dataset.start || ""];
    });
    try { localStorage.setItem(name, JSON.stringify({ start: $("start").value, all })); } catch { $("kept").hidden = false; }
  }
  function recall() {
    let kept;
    try { kept = JSON.parse(localStorage.getItem(name) || "null"); } catch { $("kept").hidden = false; }
    if (!kept || !Array.isArray(kept.all)) return;
    $("start").value = String(kept.start || "");
    rows.forEach((row, k) => {
      const p = parts(row), saved = (kept.all[k] || []).map(String);
      [p.reading.value, p.again.value, p.how.value, p.note.value] = [0, 1, 2, 3].map((i) => saved[i] || "");
      [p.reading.dataset.start, p.again.dataset.start] = [saved[4] || "", saved[5] || ""];
    });
  }

  function lookAtAll() {
    const looks = rows.map(look);
    const taken = looks.filter((l) => l.taken).length, odd = looks.filter((l) => l.bad).length;
    $("count").textContent = `${taken} of ${rows.length} taken${odd ? `, ${odd} to look at` : ""}`;
    $("csv").value = csv();
  }
  function lookAtStart() {
    try {
      const mm = tautgrid.readStart($("start").value, unit);
      say($("startsaid"), mm > 0 ? `From now on ${show(mm)} is taken off what you read with a tape.` : "", false);
      return true;
    } catch (e) {
      say($("startsaid"), `Not a length: ${e.why}${e.help ? ` (${e.help})` : ""}.`, true);
      return false;
    }
  }

  rows.forEach((row, k) => {
    const p = parts(row);
    for (const field of [p.reading, p.again]) {
      field.addEventListener("input", () => {
        // the start belongs to the reading that was taken with it
        field.dataset.start = field.value.trim() && lookAtStart() ? $("start").value.trim() : "";
      });
      field.addEventListener("keydown", (e) => {
        if (e.key !== "Enter") return;
        e.preventDefault();
        const next = rows.slice(k + 1).map((r) => parts(r).reading).find((f) => !f.value.trim());
        if (next) next.focus(); else $("save").focus();
      });
    }
    row.addEventListener("input", () => { keep(); lookAtAll(); });
  });
  $("start").addEventListener("input", () => { lookAtStart(); keep(); });
  $("save").addEventListener("click", () => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([csv()], { type: "text/csv" }));
    link.download = "readings.csv";
    document.body.append(link);
    link.click();
    link.remove();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    say($("handed"), "readings.csv is among your downloads.", false);
  });
  $("copy").addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(csv());
      say($("handed"), "Copied.", false);
    } catch {
      $("csv").focus();
      $("csv").select();
      const done = document.execCommand("copy");
      say($("handed"), done ? "Copied." : "Marked below: copy it from there.", !done);
    }
  });
  $("clear").addEventListener("click", () => {
    if (!confirm("Clear every reading on this page?")) return;
    for (const field of document.querySelectorAll("input")) { field.value = ""; delete field.dataset.start; }
    for (const field of document.querySelectorAll("select")) field.value = "";
    keep();
    lookAtAll();
  });
  recall();
  lookAtStart();
  lookAtAll();
})();
