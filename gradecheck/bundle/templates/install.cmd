@echo off
rem Installs gradecheck for this user from this folder; nothing is fetched.
setlocal
set python=py -3
where py >nul 2>nul || set python=python
%python% "%~dp0." %*
