;;; emacs.el --- Plays a person in Emacs with eglot, in batch  -*- lexical-binding: t -*-
;; Usage: SERVER=…/server.js FILE=…/lever.nc emacs --batch -l emacs.el
;; Prints "ok NAME" or "not ok NAME: why" for each check; the last line is "N passed, N failed".

(require 'package)
(package-initialize)
(require 'eglot)
(require 'flymake)
(require 'xref)
(require 'cl-lib)

(defvar jawline-passed 0)
(defvar jawline-failed 0)

(defun jawline-say (format &rest args)
  (princ (concat (apply #'format format args) "\n")))

(defmacro jawline-check (name &rest body)
  (declare (indent 1))
  `(condition-case why
       (progn ,@body (cl-incf jawline-passed) (jawline-say "ok %s" ,name))
     (error (cl-incf jawline-failed) (jawline-say "not ok %s: %s" ,name (error-message-string why)))))

(defun jawline-wait (what test)
  "Let messages come until TEST holds; WHAT names it."
  (let ((end (+ (float-time) 20)))
    (while (not (funcall test))
      (when (> (float-time) end) (error "waited in vain for %s" what))
      (accept-process-output nil 0.05))))

(define-derived-mode iso6983-mode prog-mode "ISO 6983"
  "Programs of machine tools."
  (setq-local comment-start "(" comment-end ")"))
(add-to-list 'eglot-server-programs `(iso6983-mode . ("node" ,(getenv "SERVER") "--stdio")))
(setq eglot-sync-connect 20 eglot-autoreconnect nil eglot-send-changes-idle-time 0
      eglot-confirm-server-initiated-edits nil)

(find-file (getenv "FILE"))
(iso6983-mode)

(defun jawline-go (text offset)
  (goto-char (point-min))
  (search-forward text)
  (goto-char (+ (match-beginning 0) offset)))

(defun jawline-ask (method &optional extra)
  (jsonrpc-request (eglot-current-server) method (append (eglot--TextDocumentPositionParams) extra) :timeout 20))

(defvar jawline-found nil "Diagnostics as eglot hands them to flymake.")

(jawline-check "connects and says what it can do"
  ;; What `M-x eglot' does with what it guesses itself; the shape of the guess differs between versions.
  (apply #'eglot--connect (eglot--guess-contact))
  (jawline-wait "the server" (lambda () (eglot-managed-p)))
  (dolist (name '(:hoverProvider :definitionProvider :completionProvider :renameProvider :codeActionProvider))
    (unless (eglot--server-capable name) (error "%s is missing" name)))
  (eglot-flymake-backend (lambda (found &rest _) (setq jawline-found found))))

(jawline-check "hover tells the part at an offset"
  (jawline-go "G54.1 P4" 3)
  (let ((text (eglot--hover-info (plist-get (jawline-ask :textDocument/hover) :contents))))
    (unless (and (string-match-p "A4" text) (string-match-p "damper lever" text)) (error "%s" text))))

(defun jawline-marked ()
  (cl-some (lambda (d) (string-match-p "G54.1 P21" (flymake-diagnostic-text d))) jawline-found))

(jawline-check "a wrong offset is marked, and unmarked by its fix"
  (jawline-go "G54.1 P12" 7)
  (delete-char 2)
  (insert "21")
  (eglot--signal-textDocument/didChange)
  (jawline-wait "the finding" #'jawline-marked)
  (let* ((range (list :start (eglot--pos-to-lsp-position (line-beginning-position))
                      :end (eglot--pos-to-lsp-position (line-end-position))))
         (actions (jsonrpc-request (eglot-current-server) :textDocument/codeAction
                                   (list :textDocument (eglot--TextDocumentIdentifier) :range range
                                         :context '(:diagnostics [])) :timeout 20))
         (fix (cl-find-if (lambda (a) (string-match-p "B6" (plist-get a :title))) actions)))
    (unless fix (error "no fix for station B6"))
    (eglot--apply-workspace-edit (plist-get fix :edit))
    (eglot--signal-textDocument/didChange)
    (jawline-wait "no finding" (lambda () (not (jawline-marked))))))

(jawline-check "definition leads from an offset to the sidecar"
  (jawline-go "G54.1 P8" 3)
  (let ((place (aref (jawline-ask :textDocument/definition) 0)))
    (unless (string-match-p "plate\\.fixture\\.json" (plist-get place :uri)) (error "%S" place))))

(jawline-check "completion offers offsets with their stations"
  (jawline-go "G54.1 P4" 1)
  (let* ((answer (jawline-ask :textDocument/completion))
         (found (cl-find "G54.1 P4" (if (vectorp answer) answer (plist-get answer :items)) :key (lambda (i) (plist-get i :label)) :test #'equal)))
    (unless (and found (string-match-p "A4" (plist-get found :detail))) (error "not offered"))))

(jawline-check "rename changes a program number and its calls"
  (jawline-go "M98 P2110" 6)
  (eglot-rename "2111")
  (goto-char (point-min))
  (unless (search-forward "O2111" nil t) (error "the O word kept its number"))
  (goto-char (point-min))
  (when (search-forward "P2110" nil t) (error "a call kept its number")))

(jawline-check "stops when it is told to"
  (let ((server (eglot-current-server)))
    (eglot-shutdown server nil 10)
    (jawline-wait "the end" (lambda () (not (jsonrpc-running-p server))))))

(jawline-say "%d passed, %d failed" jawline-passed jawline-failed)
(set-buffer-modified-p nil)
(kill-emacs (if (= jawline-failed 0) 0 1))
