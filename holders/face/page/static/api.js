// Talking to the page's own server: this run's token on every request, plain words for every failure.
// It comes behind the # of the address, which no browser sends anywhere and which is not left to be seen.
const TOKEN = "holders-token";
function ours() {
  const given = location.hash.slice(1);
  if (given) history.replaceState(null, "", location.pathname);
  try {
    if (given) sessionStorage.setItem(TOKEN, given);
    return given || sessionStorage.getItem(TOKEN) || "";
  } catch { return given; }
}
const token = ours();
const HEAD = { "X-Holders-Token": token };
const GONE = "The page's server does not answer. Was it stopped? Start it again and reload this page.";

export class Trouble extends Error {
  constructor(words, errors = []) { super(words); this.errors = errors; }
}

async function read(answer) {
  const text = await answer.text();
  let found = null;
  try { found = JSON.parse(text); } catch { /* plain words */ }
  if (answer.ok && found) return found;
  if (found && found.errors) throw new Trouble(found.errors.map((e) => e.way_out).join("; "), found.errors);
  throw new Trouble((found && found.message) || text || `answer ${answer.status}`);
}

async function ask(path, options) {
  let answer;
  try { answer = await fetch(path, options); } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Trouble(GONE);
  }
  return answer;
}

export const get = async (path) => read(await ask(path, { headers: HEAD }));
export const remove = async (path) => read(await ask(path, { method: "DELETE", headers: HEAD }));
export const post = async (path, values, signal) => read(await ask(path, {
  signal, method: "POST", headers: { ...HEAD, "Content-Type": "application/json" }, body: JSON.stringify(values),
}));
export const postText = async (path, body) => read(await ask(path, { method: "POST", headers: HEAD, body }));
export async function blob(path) {
  const answer = await ask(path, { headers: HEAD });
  if (!answer.ok) throw new Trouble("The files are no longer there: make them again.");
  return answer.blob();
}

// uploads tell how far they are, which fetch cannot
export function upload(path, file, progress) {
  const request = new XMLHttpRequest();
  const done = new Promise((resolve, reject) => {
    request.open("PUT", path);
    request.setRequestHeader("X-Holders-Token", token);
    request.upload.onprogress = (e) => progress(e.total ? e.loaded / e.total : 0);
    request.onload = () => read(new Response(request.responseText || "{}", { status: request.status })).then(resolve, reject);
    request.onerror = () => reject(new Trouble("The scan could not be sent: too large, or the server has stopped."));
    request.onabort = () => reject(new Trouble("cancelled"));
    request.send(file);
  });
  return { done, abort: () => request.abort() };
}

export function hand(data, name) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(data);
  link.download = name;
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

export const wait = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

// a job asked after until it ends; `tell` hears of it each time, and a failed one throws its own words
export async function watched(job, tell) {
  while (job.state === "running") {
    await wait(200);
    job = await get(`/api/jobs/${job.key}`);
    tell(job);
  }
  if (job.state === "done" || job.state === "cancelled") return job;
  const errors = job.result ? job.result.errors : [];
  throw new Trouble(errors.map((e) => e.way_out || e.message).join("; ") || job.words || "it did not work", errors);
}

export async function handZip(job) {
  hand(await blob(`/api/jobs/${job.key}/zip`), `${job.result.slug}.zip`);
}
