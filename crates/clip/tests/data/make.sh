#!/bin/sh
# Makes the clips of this folder from a pattern written here as a formula, with ffmpeg and x264, and beside each the
# ticks and SHA-256 of the luma of every frame as ffmpeg decodes it. Run it in this folder; needs ffmpeg with libx264.
set -eu

pattern() { # width height rate
    echo "color=c=black:s=$1x$2:r=$3,format=yuv420p,geq=lum='clip(if(lt(hypot(X-30-3*N,Y-50-N),22),205,90)+50*sin((X+3*N)/9)*cos((Y-2*N)/7)+4*mod(X*7+Y*13+N*29,5),16,235)':cb='128+40*sin((X+N)/20)':cr='128-40*cos((Y-N)/20)'"
}

clip() { # file frames rate options...
    file=$1; frames=$2; rate=$3; shift 3
    ffmpeg -v error -y -f lavfi -i "$(pattern 104 78 "$rate")" -frames:v "$frames" \
        -threads 1 -fflags +bitexact -flags:v +bitexact "$@" "$file"
}

x264="-c:v libx264 -crf 26"
clip baseline.mp4 20 30 $x264 -profile:v baseline
clip main_b.mp4 24 30 $x264 -profile:v main -bf 3
clip high_b.mov 24 25 $x264 -profile:v high -bf 3 -x264-params b-pyramid=normal:8x8dct=1:ref=4:keyint=12
clip slices.mp4 12 30 $x264 -profile:v high -x264-params slices=4
clip gaps.mp4 20 60 $x264 -profile:v high -bf 2 -vf "select='not(eq(n,5)+eq(n,6)+eq(n,13))'" -fps_mode vfr
clip uneven.mp4 20 60 $x264 -profile:v high -vf "settb=1/600,setpts='10*N+4*eq(mod(N\,4)\,2)'" -fps_mode vfr -enc_time_base 1/600 -video_track_timescale 600
clip fragments.mp4 12 30 $x264 -profile:v main -movflags frag_keyframe+empty_moov
clip front.mp4 12 30 $x264 -profile:v main -movflags +faststart
clip ten_bit.mp4 8 30 -pix_fmt yuv420p10le $x264 -profile:v high10
clip chroma_422.mp4 8 30 -pix_fmt yuv422p $x264 -profile:v high422
clip interlaced.mp4 8 25 -vf crop=104:76 $x264 -flags:v +bitexact+ildct+ilme -x264-params interlaced=1
clip jpeg.avi 8 30 -c:v mjpeg -pix_fmt yuvj420p -q:v 6
clip grey.avi 3 30 -pix_fmt gray -c:v ffv1
ffmpeg -v error -y -i main_b.mp4 -c copy -metadata:s:v:0 rotate=90 -fflags +bitexact rotated.mp4
ffmpeg -v error -y -ss 0.2 -i main_b.mp4 -c copy -fflags +bitexact cut.mp4
ffmpeg -v error -y -f lavfi -i sine=frequency=440:duration=0.2 -c:a aac -b:a 32k -fflags +bitexact sound_only.m4a

for file in *.mp4 *.mov *.avi; do
    case $file in interlaced*|uneven*) continue ;; esac
    case $file in ten_bit*) format=gray10le ;; *) format=gray ;; esac
    # extractplanes takes the luma as it is, without a change of range.
    ffmpeg -v error -i "$file" -fps_mode passthrough -vf extractplanes=y -pix_fmt $format \
        -f framehash -hash sha256 - | grep -v '^#' | awk -F', *' '{ print $3, $6 }' >"$file.sha256"
done
