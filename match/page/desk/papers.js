// Papers: the documents for marking a lesson in ear training: answers, filled-in sheets, and marks
// of earlier lessons. They are read here and sent with the request.

const MOST_PAPER_BYTES = 200e3; // our choice: a sheet has some hundred bytes, and a request takes one MB

const PAPER_KINDS = { "answers of an exercise": "answers", "marks of an exercise": "earlier" };
const PAPER_WORDS = { answers: "answers", earlier: "marks of an earlier lesson", sheets: "filled-in sheet" };

const papers = []; // { kind, name, text }

const papersOf = (kind) => papers.filter((paper) => paper.kind === kind).map(({ name, text }) => ({ name, text }));
const papersReady = () => papersOf("answers").length > 0 && papersOf("sheets").length > 0;
const papersFor = () => (view.name === "exercise" ? { earlier: papersOf("earlier") } : inView().papers ? { answers: papersOf("answers")[0]?.text ?? "", sheets: papersOf("sheets"), earlier: papersOf("earlier") } : {});

// Takes a paper. It replaces one of the same kind and name; answers replace earlier answers.
async function takePaper(kind, file) {
  if (file.size > MOST_PAPER_BYTES) return tellTrouble({ what: `“${file.name}” is too large for a paper of a lesson.`, hint: "Drop the sheet as .csv." });
  const text = await textOf(file);
  for (let i = papers.length - 1; i >= 0; i--) if (papers[i].kind === kind && (kind === "answers" || papers[i].name === file.name)) papers.splice(i, 1);
  papers.push({ kind, name: file.name, text });
  showPapers();
  showFiles();
  if (inView().papers || (kind === "earlier" && view.name === "exercise")) refresh();
  else location.hash = "#marking";
}

function showPapers() {
  const missing = [papersOf("answers").length ? "" : "the answers (.answers.json)", papersOf("sheets").length ? "" : "the filled-in sheets (.csv)"].filter(Boolean);
  for (const box of document.querySelectorAll("[data-papers]")) box.classList.toggle("filled", papers.some(({ kind }) => !box.dataset.papers || kind === box.dataset.papers));
  byId("papers-next").textContent = missing.length ? `Now choose ${missing.join(" and ")}.` : "";
  byId("papers").replaceChildren(...papers.filter(({ kind }) => inView().papers || kind === "earlier").map((paper) => {
    const away = make("button", { type: "button", textContent: "Remove" });
    away.setAttribute("aria-label", `Remove ${paper.name}`);
    away.addEventListener("click", () => {
      papers.splice(papers.indexOf(paper), 1);
      showPapers();
      refresh();
    });
    return make("div", { className: "file-row" }, make("span", { textContent: PAPER_WORDS[paper.kind] }), make("span", { className: "name", textContent: paper.name }), away);
  }));
}
// Summarises the papers in one line.
function papersSummary() {
  const sheets = papersOf("sheets").length;
  return ["answers ", make("b", { textContent: papersOf("answers")[0]?.name ?? "–" }), " · ", make("b", { textContent: sheets === 1 ? "1 sheet" : `${sheets} sheets` })];
}

for (const id of ["choose-papers", "choose-marks"]) onChosen(id, (list) => takeIn(list));
