//! All open documents, held by one thread, and what is to be done next.
//!
//! Everything is derived from facts: a document has a text and the moment at which that last changed; a check has
//! the moment whose texts it saw. What is older than a text it read is not shown. There are no flags to forget.

use crate::convert::Encoding;
use crate::document::{TextChange, apply};
use crate::nearby::{Nearby, OpenFile};
use crate::snapshot::Snapshot;
use crate::view::View;
use crate::work::{Checked, Done, Work};
use check::{FileId, Kept};
use std::any::Any;
use std::collections::HashMap;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::sync::{Arc, mpsc};
use tokio::sync::{mpsc as tokio_mpsc, oneshot};

/// The name of a document, as the client spells it.
pub type Uri = Arc<str>;

/// What happens to the state, in the order in which it happens.
pub enum Message {
    Speaks(Encoding),
    Opened {
        document: Uri,
        path: Option<PathBuf>,
        version: i32,
        text: String,
    },
    Changed {
        document: Uri,
        version: i32,
        changes: Vec<TextChange>,
    },
    Saved(Uri),
    Closed(Uri),
    /// Files on the disk are not what they were.
    FilesChanged(Vec<PathBuf>),
    Asked(Question),
    /// Somebody wants to see the text as it is now.
    Looked {
        document: Uri,
        reply: oneshot::Sender<Moment>,
    },
    /// Somebody who asked does not wait any more.
    GaveUp,
    Done(Done),
}

/// All texts as they are at one moment.
pub struct Moment {
    /// The document that was asked for, if it is open.
    pub snapshot: Option<Arc<Snapshot>>,
    pub open: Arc<Vec<OpenFile>>,
}

/// How much a check does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Depth {
    Findings,
    /// Remedies are tried out too, which takes many times as long.
    Remedies,
}

/// Somebody wants to know what a check of the text as it is now says.
pub struct Question {
    pub document: Uri,
    pub depth: Depth,
    /// The revision that it must be about, if it follows an earlier answer.
    pub revision: Option<u64>,
    /// Dropped when nobody waits any more.
    pub reply: oneshot::Sender<Answer>,
}

pub enum Answer {
    Ready(Ready),
    /// The text has changed since the question.
    Changed,
    /// The check failed.
    Failed,
    /// There is no such document.
    Nothing,
}

/// A check of the text as it was when the question came.
pub struct Ready {
    /// A library may be shown by several designs; of remedies there is one view.
    pub views: Vec<View>,
    pub revision: u64,
    /// The client's number of that text.
    pub version: i32,
}

/// The findings of a document, in place of those shown before.
pub struct Publication {
    pub document: Uri,
    /// The client's number of the text that they are of; none for a document that was closed.
    pub version: Option<i32>,
    /// A library may be shown by several designs.
    pub views: Vec<View>,
}

/// Starts the thread that holds the state, and one for the checks of each depth.
pub fn start(publish: tokio_mpsc::UnboundedSender<Publication>) -> std::io::Result<mpsc::Sender<Message>> {
    let (sender, messages) = mpsc::channel();
    // Always the same two threads: the allocator keeps what a check has used for the thread that used it, and a
    // pool of many would hold the memory of a check many times over.
    let (findings, remedies) = (worker("findings")?, worker("remedies")?);
    let results = sender.clone();
    std::thread::Builder::new().name("state".into()).spawn(move || {
        let mut state = State::default();
        while let Ok(first) = messages.recv() {
            state.take(first);
            // All that waits is taken first, so that a burst of edits costs one check.
            while let Ok(next) = messages.try_recv() {
                state.take(next);
            }
            // Nobody takes publications or work any more once the server ends.
            for publication in state.settle() {
                let _ = publish.send(publication);
            }
            while let Some(work) = state.next_work() {
                let results = results.clone();
                let worker = if work.depth == Depth::Findings { &findings } else { &remedies };
                let _ = worker.send(Box::new(move || {
                    let _ = results.send(Message::Done(work.run()));
                }));
            }
            // The next edit is not to wait for it.
            let old = std::mem::take(&mut state.replaced);
            if !old.is_empty() {
                let _ = remedies.send(Box::new(move || drop(old)));
            }
        }
    })?;
    Ok(sender)
}

type Task = Box<dyn FnOnce() + Send>;

/// A thread that does one task after the other.
fn worker(name: &str) -> std::io::Result<mpsc::Sender<Task>> {
    let (sender, tasks) = mpsc::channel::<Task>();
    std::thread::Builder::new().name(name.into()).spawn(move || tasks.into_iter().for_each(|task| task()))?;
    Ok(sender)
}

#[derive(Default)]
pub struct State {
    encoding: Encoding,
    /// Counts every change of anything: the moments of this module.
    now: u64,
    documents: HashMap<Uri, Document>,
    /// When what stands under a path last changed, by opening, editing or closing it.
    changed: HashMap<PathBuf, u64>,
    /// The checks that are being made, at most one of each depth.
    running: Vec<Running>,
    publications: Vec<Publication>,
    /// What is left of checks of older texts; to free a large one takes so long that it is left to a thread that is idle.
    replaced: Vec<Arc<dyn Any + Send + Sync>>,
}

/// A check that is being made.
struct Running {
    document: Uri,
    depth: Depth,
    stop: Arc<AtomicBool>,
}

struct Document {
    path: Option<PathBuf>,
    version: i32,
    text: Arc<String>,
    /// What is read of that text, as soon as somebody looks.
    snapshot: Option<Arc<Snapshot>>,
    opened: u64,
    changed: u64,
    findings: Lane,
    remedies: Lane,
    /// What the next check can use of the last one.
    kept: Option<Arc<Kept>>,
    /// Which checks the client was last shown: the design and the moment of each.
    shown: Vec<(Uri, u64)>,
}

/// The checks of one depth of one document, one after the other.
#[derive(Default)]
struct Lane {
    /// The moment that the last check saw, be it that it panicked.
    seen: u64,
    libraries: Vec<PathBuf>,
    last: Option<(u64, Arc<Checked>)>,
    waiting: Vec<Waiting>,
}

struct Waiting {
    question: Question,
    revision: u64,
}

impl State {
    /// Takes a message in. Nothing follows of it until [`State::settle`].
    pub fn take(&mut self, message: Message) {
        self.now += 1;
        match message {
            Message::Speaks(encoding) => self.encoding = encoding,
            Message::Opened { document, path, version, text } => {
                self.touch(path.as_deref());
                let opened = Document {
                    path,
                    version,
                    text: Arc::new(text),
                    snapshot: None,
                    opened: self.now,
                    changed: self.now,
                    findings: Lane::default(),
                    remedies: Lane::default(),
                    kept: None,
                    shown: Vec::new(),
                };
                self.documents.insert(document, opened);
            }
            Message::Changed { document, version, changes } => {
                let Some(changed) = self.documents.get_mut(&document) else { return };
                changed.snapshot = None;
                apply(&mut changed.text, changes, self.encoding);
                changed.version = version;
                changed.changed = self.now;
                // Nothing of a check of an older text is shown: its room is for the next one.
                let useless = [&mut changed.findings, &mut changed.remedies].map(|lane| lane.last.take());
                self.replaced.extend(useless.into_iter().flatten().map(|(_, checked)| checked as _));
                let path = changed.path.clone();
                self.touch(path.as_deref());
                self.give_up(&document);
            }
            Message::FilesChanged(paths) => self.files_changed(&paths),
            // The text is the same, but a library on the disk may be another one.
            Message::Saved(document) => {
                if let Some(saved) = self.documents.get_mut(&document) {
                    saved.changed = self.now;
                }
            }
            Message::Closed(document) => {
                let Some(closed) = self.documents.remove(&document) else { return };
                self.touch(closed.path.as_deref());
                self.give_up(&document);
                self.publications.push(Publication { document, version: None, views: Vec::new() });
            }
            Message::Asked(question) => self.ask(question),
            Message::Looked { document, reply } => {
                // Who no longer waits gets no answer.
                let _ = reply.send(self.moment(&document));
            }
            Message::GaveUp => self.give_up_what_nobody_wants(),
            Message::Done(done) => self.finish(done),
        }
    }

    /// Answers every question that can be answered, and gives the findings that are new to the client.
    pub fn settle(&mut self) -> Vec<Publication> {
        self.answer();
        let mut publications = std::mem::take(&mut self.publications);
        let mut shown_now = Vec::new();
        for (uri, document) in &self.documents {
            let designs = self.designs_that_show(uri, document);
            let Some(shown) = self.checks(&designs) else { continue };
            if shown == document.shown {
                continue;
            }
            let views = designs.iter().filter_map(|design| self.view(uri, design, Depth::Findings)).collect();
            publications.push(Publication { document: uri.clone(), version: Some(document.version), views });
            shown_now.push((uri.clone(), shown));
        }
        for (uri, shown) in shown_now {
            if let Some(document) = self.documents.get_mut(&uri) {
                document.shown = shown;
            }
        }
        publications
    }

    /// The most urgent check of a depth of which none is being made. It counts as being made from now on.
    pub fn next_work(&mut self) -> Option<Work> {
        let (depth, uri) = self.most_urgent()?;
        let document = self.documents.get(&uri)?;
        let stop = Arc::new(AtomicBool::new(false));
        let work = Work {
            document: uri.clone(),
            opened: document.opened,
            depth,
            as_of: self.now,
            path: document.path.clone(),
            text: document.text.clone(),
            nearby: Nearby::of(document.path.as_deref(), self.open_files()),
            before: document.kept.clone(),
            stop: stop.clone(),
        };
        self.running.push(Running { document: uri, depth, stop });
        Some(work)
    }

    fn open_files(&self) -> Arc<Vec<OpenFile>> {
        let open = self.documents.iter().filter_map(|(document, it)| {
            let (path, text) = (it.path.clone()?, it.text.clone());
            Some(OpenFile { document: document.clone(), path, version: it.version, changed: it.changed, text })
        });
        Arc::new(open.collect())
    }

    /// All texts as they are now.
    fn moment(&mut self, uri: &Uri) -> Moment {
        let open = self.open_files();
        let snapshot = self.documents.get_mut(uri).map(|it| {
            let new = || Arc::new(Snapshot::new(uri.clone(), it.path.clone(), it.version, it.text.clone()));
            it.snapshot.get_or_insert_with(new).clone()
        });
        Moment { snapshot, open }
    }

    /// Stops the checks of a text that is no more.
    fn give_up(&self, uri: &Uri) {
        self.running.iter().filter(|it| it.document == *uri).for_each(|it| it.stop.store(true, Relaxed));
    }

    /// Stops trying remedies out for those who do not wait for them.
    fn give_up_what_nobody_wants(&self) {
        for running in self.running.iter().filter(|it| it.depth == Depth::Remedies) {
            let wanted = self
                .documents
                .get(&running.document)
                .is_some_and(|it| it.remedies.waiting.iter().any(|waiting| !waiting.question.reply.is_closed()));
            if !wanted {
                running.stop.store(true, Relaxed);
            }
        }
    }

    fn files_changed(&mut self, paths: &[PathBuf]) {
        for path in paths {
            let is_open = self.documents.values().any(|it| it.path.as_ref() == Some(path));
            if !is_open {
                self.touch(Some(path));
            }
            // A house standard that has come or gone may be another one than that which was looked at.
            if design::is_house_standard(&path.to_string_lossy()) {
                let folder = path.parent();
                let under = |it: &&mut Document| {
                    it.path.as_ref().zip(folder).is_some_and(|(path, folder)| path.starts_with(folder))
                };
                self.documents.values_mut().filter(under).for_each(|it| it.changed = self.now);
            }
        }
    }

    /// What was edited last comes before what waits in the background.
    fn most_urgent(&self) -> Option<(Depth, Uri)> {
        let is_free = |depth: &Depth| self.running.iter().all(|it| it.depth != *depth);
        [Depth::Findings, Depth::Remedies].into_iter().filter(is_free).find_map(|depth| {
            let wanted = self.documents.iter().filter(|(uri, it)| self.wants(uri, it, depth));
            wanted.max_by_key(|(_, it)| it.changed).map(|(uri, _)| (depth, uri.clone()))
        })
    }

    fn touch(&mut self, path: Option<&Path>) {
        if let Some(path) = path {
            self.changed.insert(path.to_path_buf(), self.now);
        }
    }

    fn finish(&mut self, done: Done) {
        self.running.retain(|it| it.depth != done.depth);
        if done.stopped {
            return;
        }
        let Some(document) = self.documents.get_mut(&done.document) else { return };
        if document.opened != done.opened {
            return;
        }
        let of_findings = done.checked.as_ref().filter(|_| done.depth == Depth::Findings);
        if let Some(checked) = of_findings {
            let old = document.kept.replace(Arc::new(checked.outcome.kept()));
            self.replaced.extend(old.map(|kept| kept as _));
        }
        let lane = document.lane_mut(done.depth);
        lane.seen = done.as_of;
        lane.libraries = done.libraries;
        if let Some(checked) = done.checked {
            let old = lane.last.replace((done.as_of, checked));
            self.replaced.extend(old.map(|(_, checked)| checked as _));
        }
    }

    fn ask(&mut self, question: Question) {
        let Some(document) = self.documents.get(&question.document) else { return };
        let revision = document.changed;
        let designs = self.designs_that_show(&question.document, document);
        // Who is shown by several designs is told of the first one.
        let Some(design) = designs.into_iter().next() else { return };
        if let Some(design) = self.documents.get_mut(&design) {
            let revision = question.revision.unwrap_or(revision);
            design.lane_mut(question.depth).waiting.push(Waiting { question, revision });
        }
    }

    fn answer(&mut self) {
        let mut asked = Vec::new();
        for (uri, document) in &mut self.documents {
            for lane in [&mut document.findings, &mut document.remedies] {
                asked.extend(std::mem::take(&mut lane.waiting).into_iter().map(|it| (uri.clone(), it)));
            }
        }
        for (design, waiting) in asked {
            let Waiting { question, revision } = &waiting;
            if question.reply.is_closed() {
                continue;
            }
            let answer = match (self.documents.get(&question.document), self.documents.get(&design)) {
                (Some(about), _) if about.changed != *revision => Answer::Changed,
                (Some(_), Some(by)) if !self.is_current(by, by.lane(question.depth)) => {
                    if let Some(by) = self.documents.get_mut(&design) {
                        by.lane_mut(question.depth).waiting.push(waiting);
                    }
                    continue;
                }
                (Some(about), _) => {
                    let designs = match question.depth {
                        Depth::Findings => self.designs_that_show(&question.document, about),
                        Depth::Remedies => vec![design.clone()],
                    };
                    let not_yet = designs
                        .iter()
                        .filter_map(|it| self.documents.get(it))
                        .any(|it| !self.is_current(it, it.lane(question.depth)));
                    if not_yet {
                        if let Some(by) = self.documents.get_mut(&design) {
                            by.lane_mut(question.depth).waiting.push(waiting);
                        }
                        continue;
                    }
                    let view = |it: &Uri| self.view(&question.document, it, question.depth);
                    let views: Vec<View> = designs.iter().filter_map(view).collect();
                    match views.is_empty() {
                        true => Answer::Failed,
                        false => Answer::Ready(Ready { views, revision: *revision, version: about.version }),
                    }
                }
                (None, _) => Answer::Nothing,
            };
            // Who no longer waits gets no answer.
            let _ = waiting.question.reply.send(answer);
        }
    }

    /// Whether a check is to be made.
    fn wants(&self, uri: &Uri, document: &Document, depth: Depth) -> bool {
        let lane = document.lane(depth);
        if self.is_current(document, lane) {
            return false;
        }
        match depth {
            Depth::Findings => !lane.waiting.is_empty() || self.designs_that_show(uri, document).contains(uri),
            Depth::Remedies => lane.waiting.iter().any(|it| !it.question.reply.is_closed()),
        }
    }

    /// Whether the last check saw every text as it is now.
    fn is_current(&self, document: &Document, lane: &Lane) -> bool {
        let seen = |path: &PathBuf| self.changed.get(path).is_none_or(|changed| *changed <= lane.seen);
        document.changed <= lane.seen && lane.libraries.iter().all(seen)
    }

    /// The checks that stand behind what is shown by these designs; nothing until all are of the newest texts.
    fn checks(&self, designs: &[Uri]) -> Option<Vec<(Uri, u64)>> {
        let mut checks = Vec::with_capacity(designs.len());
        for uri in designs {
            let design = self.documents.get(uri)?;
            self.result(design, Depth::Findings)?;
            checks.push((uri.clone(), design.findings.seen));
        }
        Some(checks)
    }

    /// The last check, if it is of the texts as they are now and did not panic.
    fn result<'s>(&self, document: &'s Document, depth: Depth) -> Option<&'s Arc<Checked>> {
        let lane = document.lane(depth);
        let (seen, checked) = lane.last.as_ref()?;
        (self.is_current(document, lane) && *seen == lane.seen).then_some(checked)
    }

    /// Whose checks tell of a document: the open designs that it is a library of, or its own. Two files that name
    /// each other are both designs.
    fn designs_that_show(&self, uri: &Uri, document: &Document) -> Vec<Uri> {
        let uses = |one: &Document, other: &Document| {
            other.path.as_ref().is_some_and(|path| one.findings.libraries.contains(path))
        };
        let others =
            self.documents.iter().filter(|(other, it)| *other != uri && uses(it, document) && !uses(document, it));
        let mut designs: Vec<Uri> = others.map(|(other, _)| other.clone()).collect();
        designs.sort();
        if designs.is_empty() {
            designs.push(uri.clone());
        }
        designs
    }

    /// What a design's check says of a document.
    fn view(&self, uri: &Uri, design: &Uri, depth: Depth) -> Option<View> {
        let checked = self.result(self.documents.get(design)?, depth)?.clone();
        if uri == design {
            let open = |path: &PathBuf| self.documents.values().any(|it| it.path.as_ref() == Some(path));
            let closed = checked.libraries().filter(|(_, path)| !open(path)).map(|(file, _)| file).collect();
            return Some(View { checked, file: FileId::new(0), closed });
        }
        let path = self.documents.get(uri)?.path.as_ref()?;
        let (file, _) = checked.libraries().find(|(_, library)| library == path)?;
        Some(View { checked, file, closed: Vec::new() })
    }
}

impl Document {
    fn lane(&self, depth: Depth) -> &Lane {
        match depth {
            Depth::Findings => &self.findings,
            Depth::Remedies => &self.remedies,
        }
    }

    fn lane_mut(&mut self, depth: Depth) -> &mut Lane {
        match depth {
            Depth::Findings => &mut self.findings,
            Depth::Remedies => &mut self.remedies,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;

    const DESIGN: &str = "/nowhere/house.ufh.yaml";
    const OTHER: &str = "/nowhere/barn.ufh.yaml";
    const LIBRARY: &str = "/nowhere/library/pipes.ufh.yaml";
    const DESIGN_TEXT: &str = "format: 1\nlibrary: [library/pipes.ufh.yaml]\nloops: {L1: {pipe: thin}}\n";
    const LIBRARY_TEXT: &str = "format: 1\npipes: {thin: {materal: PE-X}}\n";

    fn open(path: &str, version: i32, text: &str) -> Message {
        Message::Opened { document: path.into(), path: Some(path.into()), version, text: text.into() }
    }

    fn rewrite(path: &str, version: i32, text: &str) -> Message {
        let changes = vec![TextChange { between: None, text: text.into() }];
        Message::Changed { document: path.into(), version, changes }
    }

    fn ask(state: &mut State, path: &str, depth: Depth) -> oneshot::Receiver<Answer> {
        let (reply, answer) = oneshot::channel();
        state.take(Message::Asked(Question { document: path.into(), depth, revision: None, reply }));
        answer
    }

    /// Does everything there is to do; what was published, in order.
    fn rest(state: &mut State) -> Vec<Publication> {
        let mut published = Vec::new();
        loop {
            published.extend(state.settle());
            let work: Vec<Work> = std::iter::from_fn(|| state.next_work()).collect();
            if work.is_empty() {
                return published;
            }
            for work in work {
                state.take(Message::Done(work.run()));
            }
        }
    }

    /// A publication as the rules and the text that each marks.
    fn marks(publication: &Publication) -> Vec<(&'static str, String)> {
        let shown = publication.views.iter().flat_map(View::findings);
        let mut marks: Vec<_> = shown
            .map(|it| {
                let text = it.view.checked.text(it.view.file).map_or("", |(text, _)| text);
                (it.finding.rule.name, text.get(it.bytes).unwrap_or("?").to_string())
            })
            .collect();
        marks.sort();
        marks.dedup();
        marks
    }

    /// What a client sees of a document: the version, and the rules with the text that each marks.
    type Seen = (Option<i32>, Vec<(&'static str, String)>);

    /// What the client sees in the end: of each document the last publication.
    fn seen(published: &[Publication]) -> BTreeMap<Uri, Seen> {
        published.iter().map(|it| (it.document.clone(), (it.version, marks(it)))).collect()
    }

    /// What the client is shown of a document, narrowed to one rule.
    fn of_rule(published: &[Publication], document: &str, rule: &str) -> Option<Vec<String>> {
        let (_, marks) = seen(published).remove(document)?;
        Some(marks.into_iter().filter(|it| it.0 == rule).map(|it| it.1).collect())
    }

    #[test]
    fn a_library_is_shown_where_somebody_can_see_it() {
        let mut state = State::default();
        state.take(open(LIBRARY, 1, LIBRARY_TEXT));
        rest(&mut state);
        state.take(open(DESIGN, 1, DESIGN_TEXT));
        let published = rest(&mut state);
        assert_eq!(of_rule(&published, LIBRARY, "unknown-field"), Some(vec!["materal".into()]));
        assert_eq!(of_rule(&published, DESIGN, "unknown-field"), Some(vec![]));

        state.take(rewrite(LIBRARY, 2, "format: 1\npipes: {thin: {material: PE-X}}\n"));
        let published = rest(&mut state);
        assert_eq!(of_rule(&published, LIBRARY, "unknown-field"), Some(vec![]));
        assert!(seen(&published).contains_key(DESIGN), "a design is checked again when its library changes");

        state.take(rewrite(LIBRARY, 3, "format: 1\npipes: {wide: {materal: PE-X}}\n"));
        let published = rest(&mut state);
        assert_eq!(of_rule(&published, DESIGN, "unknown-reference"), Some(vec!["thin".into()]));

        state.take(Message::Closed(DESIGN.into()));
        let published = rest(&mut state);
        assert_eq!(seen(&published).get(DESIGN), Some(&(None, vec![])), "what is closed is cleared");
        assert_eq!(of_rule(&published, LIBRARY, "unknown-field"), Some(vec!["materal".into()]), "checked by itself");
    }

    #[test]
    fn a_library_that_nobody_has_opened_is_shown_where_it_is_named() {
        let folder = std::env::temp_dir().join(format!("hypocaust closed library {}", std::process::id()));
        std::fs::create_dir_all(folder.join("library")).expect("there is room for a test's files");
        std::fs::write(folder.join("library/pipes.ufh.yaml"), LIBRARY_TEXT).expect("there is room for a test's files");
        let design = folder.join("house.ufh.yaml");
        let design = design.to_str().expect("the folder for temporary files has a plain name");
        let mut state = State::default();
        state.take(open(design, 1, DESIGN_TEXT));
        let published = rest(&mut state);
        assert_eq!(of_rule(&published, design, "unknown-field"), Some(vec!["library/pipes.ufh.yaml".into()]));
        std::fs::remove_dir_all(&folder).expect("the test's own folder");

        // As it is on the disk now; the design is told on saving.
        state.take(Message::Saved(design.into()));
        let published = rest(&mut state);
        assert_eq!(of_rule(&published, design, "unknown-field"), Some(vec![]));
        let missing = of_rule(&published, design, "unknown-reference").expect("the design is shown again");
        assert_eq!(missing, ["library/pipes.ufh.yaml"], "the pipe that it may hold is told with it");
    }

    #[test]
    fn files_that_name_each_other_are_both_checked() {
        let mut state = State::default();
        state.take(open(DESIGN, 1, "format: 1\nlibrary: [barn.ufh.yaml]\nwals: {}\n"));
        state.take(open(OTHER, 1, "format: 1\nlibrary: [house.ufh.yaml]\nrums: {}\n"));
        let published = rest(&mut state);
        assert_eq!(of_rule(&published, DESIGN, "unknown-field"), Some(vec!["wals".into()]));
        assert_eq!(of_rule(&published, OTHER, "unknown-field"), Some(vec!["rums".into()]));
    }

    #[test]
    fn after_a_panic_the_old_findings_stay() {
        let mut state = State::default();
        state.take(open(DESIGN, 1, "wals: {}\n"));
        rest(&mut state);
        state.take(rewrite(DESIGN, 2, "rums: {}\n"));
        let mut answer = ask(&mut state, DESIGN, Depth::Findings);
        let work = state.next_work().expect("the text has changed");
        state.take(Message::Done(Done { libraries: Vec::new(), checked: None, stopped: false, ..work.run() }));
        assert!(rest(&mut state).is_empty());
        assert!(matches!(answer.try_recv(), Ok(Answer::Failed)));

        state.take(rewrite(DESIGN, 3, "rums: {}\n"));
        assert_eq!(of_rule(&rest(&mut state), DESIGN, "unknown-field"), Some(vec!["rums".into()]));
    }

    #[test]
    fn a_question_is_about_the_text_of_its_moment() {
        let mut state = State::default();
        state.take(open(DESIGN, 1, "wals: {}\n"));
        let mut early = ask(&mut state, DESIGN, Depth::Findings);
        state.take(rewrite(DESIGN, 2, "rums: {}\n"));
        let mut late = ask(&mut state, DESIGN, Depth::Remedies);
        let cancelled = ask(&mut state, DESIGN, Depth::Remedies);
        drop(cancelled);
        rest(&mut state);
        assert!(matches!(early.try_recv(), Ok(Answer::Changed)));
        let Ok(Answer::Ready(ready)) = late.try_recv() else { panic!("there is an answer") };
        assert_eq!((ready.version, ready.views[0].checked.outcome.findings.is_empty()), (2, false));
        let mut unknown = ask(&mut state, "untitled:1", Depth::Findings);
        assert!(unknown.try_recv().is_err(), "nobody is left to answer");
    }

    #[test]
    fn who_no_longer_waits_costs_no_check() {
        let mut state = State::default();
        state.take(open(DESIGN, 1, "wals: {}\n"));
        rest(&mut state);
        drop(ask(&mut state, DESIGN, Depth::Remedies));
        assert!(state.next_work().is_none());
    }

    /// Random things happen, and checks end late and in any order. What the client sees at any moment is of the
    /// text of that moment, and what it sees in the end is what a server sees that is given the last texts at once.
    #[test]
    fn whatever_happens_nothing_stale_is_shown() {
        let texts = [
            DESIGN_TEXT,
            LIBRARY_TEXT,
            "",
            "format: 1\nwals: {}\n",
            "format: 1\nlibrary: library/pipes.ufh.yaml\nloops: {L1: {pipe: wide}}\n",
            "pipes: {wide: {materal: PE-X}}\n",
            "loops:\n  L1",
        ];
        for seed in 0..60u64 {
            let mut random = seed;
            let mut below = |end: usize| {
                random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                (random >> 33) as usize % end
            };
            let mut state = State::default();
            let mut published = Vec::new();
            let mut running: Vec<Work> = Vec::new();
            let mut open_now: BTreeMap<&str, (i32, &str)> = BTreeMap::new();
            let mut answers = Vec::new();
            for version in 0..80 {
                let path = [DESIGN, OTHER, LIBRARY][below(3)];
                // A library never names a library here: who is shown by whom would hang on what came first.
                let text = if path == LIBRARY { texts[[1, 2, 5, 6][below(4)]] } else { texts[below(texts.len())] };
                match below(8) {
                    0 => {
                        state.take(Message::Closed(path.into()));
                        open_now.remove(path);
                    }
                    1 => state.take(Message::Saved(path.into())),
                    2 => answers.push(ask(&mut state, path, [Depth::Findings, Depth::Remedies][below(2)])),
                    3 | 4 if !running.is_empty() => {
                        let work = running.swap_remove(below(running.len()));
                        state.take(Message::Done(work.run()));
                    }
                    _ => {
                        let known = open_now.insert(path, (version, text)).is_some();
                        state.take(if known { rewrite(path, version, text) } else { open(path, version, text) });
                    }
                }
                if below(3) > 0 {
                    for publication in state.settle() {
                        let now = open_now.get(&*publication.document).map(|it| it.0);
                        assert_eq!(publication.version.or(now), now, "seed {seed}: an old text is shown");
                        published.push(publication);
                    }
                    running.extend(std::iter::from_fn(|| state.next_work()));
                    let of = |depth| running.iter().filter(|it| it.depth == depth).count();
                    assert!(of(Depth::Findings) <= 1 && of(Depth::Remedies) <= 1, "seed {seed}: one at a time");
                }
            }
            for work in running {
                state.take(Message::Done(work.run()));
            }
            published.extend(rest(&mut state));
            for mut answer in answers {
                assert!(
                    !matches!(answer.try_recv(), Err(oneshot::error::TryRecvError::Empty)),
                    "seed {seed}: no answer"
                );
            }

            let mut fresh = State::default();
            for (path, (version, text)) in &open_now {
                fresh.take(open(path, *version, text));
            }
            let wanted = seen(&rest(&mut fresh));
            let mut found = seen(&published);
            found.retain(|path, shown| open_now.contains_key(&**path) || !shown.1.is_empty());
            assert_eq!(found, wanted, "seed {seed}");
        }
    }
}
