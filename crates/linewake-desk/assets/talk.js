// How the page talks to its server: JSON there and back, and events that come while something is being run.

const page = Array.from(crypto.getRandomValues(new Uint8Array(8)), (byte) => byte.toString(16).padStart(2, '0')).join('');

function headers(further = {}) {
  return { 'Content-Type': 'application/json', 'X-Linewake': page, ...further };
}

async function fault(answer) {
  const text = await answer.text();
  try {
    return new Error(JSON.parse(text).error);
  } catch {
    return new Error(text.trim() || `the server answered ${answer.status}`);
  }
}

// Asks for something and gives what came back.
export async function ask(path, body, further) {
  const options = body === undefined ? { headers: headers() } : {
    method: 'POST', headers: headers(further), body: JSON.stringify(body),
  };
  const answer = await fetch(path, options);
  if (!answer.ok) throw await fault(answer);
  return answer.json();
}

// Starts work on the server and calls `told(event, data)` for each of its events. Aborting the signal ends the work.
export async function listen(path, body, told, signal) {
  const answer = await fetch(path, { method: 'POST', headers: headers(), body: JSON.stringify(body), signal });
  if (!answer.ok) throw await fault(answer);
  const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
  let unread = '';
  for (;;) {
    const { done, value } = await reader.read();
    if (done) return;
    unread += value;
    const events = unread.split('\n\n');
    unread = events.pop();
    for (const text of events) {
      const event = text.match(/^event: (.*)$/m)?.[1];
      const data = text.match(/^data: (.*)$/m)?.[1];
      if (event && data) told(event, JSON.parse(data));
    }
  }
}
