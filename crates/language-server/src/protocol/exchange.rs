//! What goes to and fro between the client and the handlers, from the first message to the last.
//!
//! The library has a loop of its own for this, which ends at the first message that it cannot read, and panics when it cannot write.

use super::wire::{self, Heard};
use futures_util::{FutureExt, SinkExt, StreamExt};
use std::future::poll_fn;
use std::io::{BufReader, Write};
use std::panic::AssertUnwindSafe;
use std::process::ExitCode;
use std::task::Poll;
use std::time::Duration;
use tokio::sync::{mpsc, oneshot};
use tokio::task::JoinSet;
use tower_lsp::jsonrpc::{Error, ErrorCode, Request, Response};
use tower_lsp::{ClientSocket, ExitedError};
use tower_service::Service;

/// How long what is still to be said may take after `exit`.
const LAST_WORDS: Duration = Duration::from_millis(200);
/// How many requests may wait at once. Cancelling needs a place of its own among them, so there must be plenty.
const MOST_WAITING: usize = 1024;
/// Messages that wait to be taken in or written.
const MOST_UNREAD: usize = 16;
/// The protocol's code for what is asked before `initialize`.
const NOT_INITIALIZED: i64 = -32002;

/// Speaks on standard input and output until the client says `exit` or goes away; the status that the protocol wants.
pub async fn serve<S>(mut service: S, socket: ClientSocket) -> std::io::Result<ExitCode>
where
    S: Service<Request, Response = Option<Response>, Error = ExitedError>,
    S::Future: Send + 'static,
{
    let (say, to_say) = mpsc::channel(MOST_UNREAD);
    let (hear, mut heard) = mpsc::channel(MOST_UNREAD);
    let (said_all, all_said) = oneshot::channel();
    std::thread::Builder::new().name("hearing".into()).spawn(move || {
        let mut reader = wire::Reader::new(BufReader::with_capacity(1 << 16, std::io::stdin()));
        while let Some(it) = reader.next() {
            if hear.blocking_send(it).is_err() {
                break;
            }
        }
    })?;
    std::thread::Builder::new().name("speaking".into()).spawn(move || {
        speak(to_say);
        let _ = said_all.send(());
    })?;
    let (mut asked, mut answers) = socket.split();
    let by_itself = {
        let say = say.clone();
        tokio::spawn(async move {
            while let Some(request) = asked.next().await {
                if say.send(wire::written(&request)).await.is_err() {
                    break;
                }
            }
        })
    };
    let mut waiting = JoinSet::new();
    let mut stage = Stage::Before;
    let has_exited = loop {
        let it = tokio::select! {
            Some(_) = waiting.join_next() => continue,
            // Nobody listens any more.
            () = say.closed() => break false,
            it = heard.recv(), if waiting.len() < MOST_WAITING => it,
        };
        let request = match it {
            Some(Heard::Request(request)) => request,
            Some(Heard::Response(response)) => {
                let _ = answers.send(response).await;
                continue;
            }
            Some(Heard::Nonsense(answer)) => {
                let say = say.clone();
                waiting.spawn(async move { drop(say.send(wire::written(&answer)).await) });
                continue;
            }
            None => break false,
        };
        if request.method() == "exit" {
            let _ = service.call(request).await;
            break true;
        }
        let id = request.id().cloned();
        let refusal = stage.refusal(&request);
        stage = stage.after(&request);
        let answer = refusal.is_none().then(|| service.call(without_empty_params(request)));
        let say = say.clone();
        let mut answering = Box::pin(async move {
            let answer = match (answer, refusal) {
                (_, Some(refusal)) => Err(refusal),
                (None, None) => Ok(None),
                // A panic is the end of this one request.
                (Some(answer), None) => match AssertUnwindSafe(answer).catch_unwind().await {
                    Ok(answer) => Ok(answer.ok().flatten()),
                    Err(_) => Err(Error::internal_error()),
                },
            };
            let answer = match (answer, id) {
                (Ok(Some(answer)), _) => answer,
                // The library says nothing where it does not know a method that begins with `$/`.
                (Ok(None), Some(id)) => Response::from_error(id, Error::method_not_found()),
                (Err(error), Some(id)) => Response::from_error(id, error),
                (_, None) => return,
            };
            let _ = say.send(wire::written(&answer)).await;
        });
        // Each begins before the next one is heard, so that what changes something is done in the order in which it was said.
        if poll_fn(|context| Poll::Ready(answering.as_mut().poll(context).is_pending())).await {
            waiting.spawn(answering);
        }
    };
    let rest = async { while waiting.join_next().await.is_some() {} };
    if has_exited {
        let _ = tokio::time::timeout(LAST_WORDS, rest).await;
    } else {
        // Who has only closed its end may still read; that one has gone is noticed at the first word.
        tokio::select! {
            () = rest => {}
            () = say.closed() => {}
        }
    }
    by_itself.abort();
    let _ = by_itself.await;
    drop((say, waiting));
    let _ = tokio::time::timeout(LAST_WORDS, all_said).await;
    Ok(if stage == Stage::ShutDown { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// How far the client has come.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Stage {
    Before,
    Begun,
    ShutDown,
}

impl Stage {
    fn after(self, request: &Request) -> Stage {
        match (self, request.method()) {
            (Stage::Before, "initialize") => Stage::Begun,
            (Stage::Begun, "shutdown") => Stage::ShutDown,
            _ => self,
        }
    }

    /// Why a request is not even looked at.
    fn refusal(self, request: &Request) -> Option<Error> {
        match self {
            Stage::Before if request.method() != "initialize" => Some(Error {
                code: ErrorCode::from(NOT_INITIALIZED),
                message: "the server waits for `initialize`".into(),
                data: None,
            }),
            Stage::ShutDown => Some(Error::invalid_request()),
            Stage::Before | Stage::Begun => None,
        }
    }
}

/// Some clients write `"params": null` or `{}` where there are none. The library refuses that even for `shutdown`.
fn without_empty_params(request: Request) -> Request {
    let stay = request.method() != "shutdown" && request.params().is_some_and(|params| !params.is_null());
    if stay {
        return request;
    }
    let (method, id, _) = request.into_parts();
    let request = Request::build(method);
    match id {
        Some(id) => request.id(id).finish(),
        None => request.finish(),
    }
}

/// Writes what is said, all that is there at once, until nobody says anything more or nobody listens.
fn speak(mut to_say: mpsc::Receiver<Vec<u8>>) {
    let mut output = std::io::stdout().lock();
    while let Some(message) = to_say.blocking_recv() {
        let mut written = output.write_all(&message);
        while let Ok(message) = to_say.try_recv() {
            written = written.and_then(|()| output.write_all(&message));
        }
        if written.and_then(|()| output.flush()).is_err() {
            return;
        }
    }
}
