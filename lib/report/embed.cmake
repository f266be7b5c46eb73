# SPDX-License-Identifier: GPL-3.0-or-later
# Makes one C file of the style sheets and scripts of our pages: page.css becomes report_page_css[], terminated.
# Bytes, not literals: ISO C promises no more than 4095 characters of one.
file(WRITE ${OUT} "/* Made from the style sheets and scripts in lib/report. */\n#include \"report/assets.h\"\n")
foreach(file IN LISTS FILES)
    get_filename_component(name ${file} NAME)
    string(REPLACE "." "_" name ${name})
    file(READ ${file} hex HEX)
    string(REGEX REPLACE "([0-9a-f][0-9a-f])" "0x\\1," bytes "${hex}")
    file(APPEND ${OUT} "const char report_${name}[] = {${bytes}0};\n")
endforeach()
