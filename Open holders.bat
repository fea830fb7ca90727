@echo off
rem Windows: double-click. Sets holders up where that is still to be done, then opens its page.
rem Not tried on Windows: written from the documentation of cmd.exe and of the py launcher.
setlocal
cd /d "%~dp0"
set "CHECK=import sys; sys.exit(not (3, 11) <= sys.version_info[:2] <= (3, 14))"
set "PYTHON="
for %%P in ("py -3" "py -3.13" "py -3.12" "py -3.11" "py -3.14" "python") do if not defined PYTHON call :look %%P
if not defined PYTHON goto missing
%PYTHON% scripts\set_up.py --ask
if errorlevel 1 goto failed
echo The page opens in your browser. To stop it, press Ctrl-C here or close this window.
.venv\Scripts\holders.exe page
if errorlevel 1 goto failed
exit /b 0

:look
%~1 -c "%CHECK%" >nul 2>nul
if not errorlevel 1 set "PYTHON=%~1"
exit /b 0

:missing
echo holders needs Python 3.11, 3.12, 3.13 or 3.14, and none was found: install it from python.org.
:failed
pause
exit /b 3
