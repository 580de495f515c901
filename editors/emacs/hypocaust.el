;;; hypocaust.el --- Checks designs of underfloor heating while you type  -*- lexical-binding: t -*-

;;; Commentary:

;; Starts the hypocaust language server, through Eglot, for every design (`*.ufh.yaml') and for `house-standard.yaml'.

;;; Code:

(require 'eglot)

(if (require 'yaml-mode nil t)
    (define-derived-mode hypocaust-mode yaml-mode "Floor"
      "Designs of underfloor heating, written in YAML.")
  (define-derived-mode hypocaust-mode prog-mode "Floor"
    "Designs of underfloor heating, written in YAML."
    (setq-local comment-start "# ")
    (setq-local indent-tabs-mode nil)))

(add-to-list 'auto-mode-alist '("\\.ufh\\.yaml\\'" . hypocaust-mode))
(add-to-list 'auto-mode-alist '("/house-standard\\.yaml\\'" . hypocaust-mode))
(add-to-list 'eglot-server-programs '(hypocaust-mode "hypocaust" "language-server"))
(add-hook 'hypocaust-mode-hook #'eglot-ensure)

;; Names of things have hyphens in them; `M-.' and renaming take them whole.
(modify-syntax-entry ?- "_" hypocaust-mode-syntax-table)

(define-key hypocaust-mode-map (kbd "C-c C-a") #'eglot-code-actions)
(define-key hypocaust-mode-map (kbd "C-c C-r") #'eglot-rename)
(define-key hypocaust-mode-map (kbd "C-c C-l") #'flymake-show-buffer-diagnostics)
(define-key hypocaust-mode-map (kbd "M-n") #'flymake-goto-next-error)
(define-key hypocaust-mode-map (kbd "M-p") #'flymake-goto-prev-error)

(provide 'hypocaust)

;;; hypocaust.el ends here
