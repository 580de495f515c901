;;; emacs.el --- Drives Emacs with the settings of `editors/emacs'  -*- lexical-binding: t -*-

;; Open, findings, hover, remedy, edit, completion, rename, end. The folder that it runs in has `granary.ufh.yaml'; the program is
;; on the path.

(require 'cl-lib)
(package-initialize)
(load (getenv "HYPOCAUST_SETTINGS") nil t)

(defconst long 60)

(defun messages ()
  (mapcar #'flymake-diagnostic-text (flymake-diagnostics)))

(defun wait-for (what holds)
  "Let the server speak until HOLDS gives something; end with WHAT if it never does."
  (let ((end (+ (float-time) long)) (answer nil))
    (while (and (not (setq answer (funcall holds))) (< (float-time) end))
      (accept-process-output nil 0.05)
      (flymake-start))
    (or answer (error "In vain: %s; the findings are\n%s" what (string-join (messages) "\n")))))

(defun finding (text)
  (cl-find-if (lambda (it) (string-search text (flymake-diagnostic-text it))) (flymake-diagnostics)))

(defun go-to (text &optional further)
  (goto-char (point-min))
  (search-forward text)
  (goto-char (+ (match-beginning 0) (or further 0))))

(defun check (holds what)
  (unless holds (error "%s" what)))

(defun has (text)
  (string-search text (buffer-string)))

(defun speak ()
  "Tell the server of changes, as an idle moment would."
  (eglot--signal-textDocument/didChange))

(find-file "granary.ufh.yaml")
(check (derived-mode-p 'hypocaust-mode) "a design is opened in another mode")
;; What waits for the end of a command has none in a batch.
(run-hooks 'post-command-hook)
(check (eglot-current-server) "no server was started")

;; Findings.
(let* ((misspelt (wait-for "the misspelt key is told" (lambda () (finding "a room has no key `heat-los`")))))
  (go-to "heat-los:")
  (check (= (flymake-diagnostic-beg misspelt) (point)) "the finding begins elsewhere")
  (check (= (flymake-diagnostic-end misspelt) (+ (point) (length "heat-los"))) "the finding ends elsewhere"))

;; Hover.
(go-to "heat-los:" 2)
(let (told)
  (eglot-hover-eldoc-function (lambda (text &rest _) (setq told text)))
  (wait-for "the place is explained" (lambda () (and told (string-search "Every key must be one of the format" told)))))

;; Remedy: of what is offered the first is chosen.
;; A key was pressed last, not a mouse button: so no menu is popped up.
(let (titles (last-nonmenu-event ?x))
  (cl-letf (((symbol-function 'completing-read)
             (lambda (_ choices &rest _) (setq titles (mapcar (lambda (it) (if (consp it) (car it) it)) choices)) (car titles))))
    (go-to "heat-los:" 2)
    (eglot-code-actions (point) (point) nil t))
  (check (string-search "write `heat-loss`" (car titles)) (format "the remedy does not come first: %S" titles))
  (check (not (string-search "record a departure" (car (last titles)))) (format "a slip is to be accepted: %S" titles)))
(check (has "heat-loss: 350 W") "the remedy was not made")
(speak)
(wait-for "the finding goes" (lambda () (not (finding "a room has no key"))))

;; Edit: 12 m² at 100 mm and 5 m of tails are 125 m; the trade allows a pipe of 16 mm 100 m (common practice, no source).
(go-to "150 mm, tails: 5 m")
(delete-char 3)
(insert "100")
(speak)
(wait-for "the loop is too long" (lambda () (finding "loop L1 is 125.0 m; the longest for a 16 mm pipe is 100.0 m")))

;; A departure from what is a matter of opinion, last of what is offered; nothing is chosen.
(let (titles (last-nonmenu-event ?x))
  (cl-letf (((symbol-function 'completing-read)
             (lambda (_ choices &rest _)
               (setq titles (mapcar (lambda (it) (if (consp it) (car it) it)) choices))
               (signal 'quit nil))))
    (go-to "L1: {" 1)
    (condition-case nil (eglot-code-actions (point) (point) nil t) (quit nil)))
  (check (string-search "record a departure" (car (last titles))) (format "the departure does not come last: %S" titles)))

;; Completion.
(go-to "use: hall")
(insert "he, ")
(backward-char 2)
(speak)
(let* ((offer (eglot-completion-at-point))
       (labels (all-completions "" (nth 2 offer))))
  (check (cl-some (lambda (it) (string-search "height" it)) labels) (format "height is not proposed: %S" labels)))
(go-to "he, use: hall")
(delete-char 4)
(speak)

;; Rename: where the room is and where a loop names it.
(go-to "  hoist:" 3)
(eglot-rename "loading-bay")
(check (and (has "\n  loading-bay:\n") (has "room: loading-bay,") (not (has "hoist"))) (buffer-string))

;; End: Eglot asks the server to shut down, and then kills it.
(let ((process (jsonrpc--process (eglot-current-server))))
  (eglot-shutdown (eglot-current-server))
  (check (not (process-live-p process)) "the server still runs"))
(message "done")
