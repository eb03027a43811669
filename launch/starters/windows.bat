@echo off
rem Starts Pourwright with the newest Python here that is new enough.
chcp 65001 >nul
cd /d "%~dp0"
if not exist run.py goto packed
py -3 -c "import sys; sys.exit(sys.version_info < (3, 11))" >nul 2>nul
if errorlevel 1 goto plain
py -3 run.py @OPTIONS@%*
if errorlevel 1 pause
exit /b
:plain
python -c "import sys; sys.exit(sys.version_info < (3, 11))" >nul 2>nul
if errorlevel 1 goto none
python run.py @OPTIONS@%*
if errorlevel 1 pause
exit /b
:packed
echo Unpack the whole archive first: right-click it, Extract All. Then start this file in the new folder.
pause
exit /b 1
:none
echo Pourwright needs Python 3.11 or newer, which is not on this computer.
echo Get it from https://www.python.org/downloads/ and install it, then start this again.
pause
exit /b 1
