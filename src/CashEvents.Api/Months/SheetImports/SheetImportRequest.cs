using System.Collections.Immutable;
using System.Globalization;
using System.Net.Mime;
using FluentValidation;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace CashEvents.Api.Months;

/// <summary>How the balance that a sheet begins with comes into the book.</summary>
public enum OpeningBalance
{
    /// <summary>What the book does not know of it is filled.</summary>
    BroughtForward,
}

/// <summary>
/// The parameters that go with a <c>text/csv</c> body: the fields of <see cref="SheetImportRequest"/> but for the sheet
/// itself.
/// </summary>
internal sealed record SheetImportParameters(
    [FromQuery(Name = "compartment")] string? Compartment, [FromQuery(Name = "holding")] string? Holding,
    [FromQuery(Name = "dateOrder")] string? DateOrder, [FromQuery(Name = "decimalMark")] string? DecimalMark,
    [FromQuery(Name = "opening")] string? Opening, [FromQuery(Name = "accept")] string? Accept,
    [FromQuery(Name = "carried")] string? Carried, [FromQuery(Name = "dryRun")] string? DryRun);

/// <summary>
/// A tracker sheet from paper. With a <c>text/csv</c> body the sheet is the body, and the other fields are parameters.
/// </summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Csv">The sheet, with a heading row: date, description, amount (or in and out), balance.</param>
/// <param name="Holding">Cash or bank, where the sheet does not say it row by row; cash if left out.</param>
/// <param name="DateOrder">The order of its dates, where they do not show it.</param>
/// <param name="DecimalMark">Its decimal mark, where its amounts do not show it.</param>
/// <param name="Opening">What becomes of a balance that the sheet begins with; it has to agree with the book if left
/// out.</param>
/// <param name="Accept">What is right in rows in which something does not agree, with commas between:
/// <c>12:balance</c>, or <c>balance</c> for all rows.</param>
/// <param name="Carried">Whether its spends were paid from notes that somebody carries, and not from those in the
/// compartment's place. If left out, yes when the sender's key is the carrier's own.</param>
/// <param name="DryRun">Whether to write nothing and show what would be written.</param>
public sealed record SheetImportRequest(
    string? Compartment, string? Csv, Holding? Holding = null, DateOrder? DateOrder = null,
    DecimalMark? DecimalMark = null,
    OpeningBalance? Opening = null, string? Accept = null, bool? Carried = null, bool? DryRun = null)
{
    /// <summary>Reads a request in either form.</summary>
    /// <exception cref="MalformedException">It has neither.</exception>
    internal static async Task<SheetImportRequest> ReadAsync(HttpContext http, SheetImportParameters sent)
    {
        if (!MediaTypeHeaderValue.TryParse(http.Request.ContentType, out var type)
            || type.MediaType != MediaTypeNames.Text.Csv)
        {
            return http.Request.HasJsonContentType()
                ? (await Body<SheetImportRequest>.BindAsync(http, null!).ConfigureAwait(false))!.Value
                : throw new MalformedException("Content-Type",
                    "Send the sheet as it is with the header Content-Type: text/csv, or a JSON object with "
                        + "Content-Type: application/json.");
        }

        if (type.Charset.HasValue && !type.Charset.Equals("utf-8", StringComparison.OrdinalIgnoreCase))
        {
            throw new MalformedException("Content-Type",
                $"The sheet is sent as {type.Charset}: save it as CSV UTF-8 and send that.");
        }

        Reads.OnlyTakes(http, "compartment", "holding", "dateOrder", "decimalMark", "opening", "accept", "carried",
            "dryRun");
        using var file = new MemoryStream();
        await http.Request.Body.CopyToAsync(file, http.RequestAborted).ConfigureAwait(false);
        var request = new SheetImportRequest(
            sent.Compartment, SheetFile.Decode(file.GetBuffer().AsSpan(0, (int)file.Length)),
            Reads.Word<Holding>(sent.Holding, "holding"),
            Reads.Word<DateOrder>(sent.DateOrder, "dateOrder"),
            Reads.Word<DecimalMark>(sent.DecimalMark, "decimalMark"),
            Reads.Word<OpeningBalance>(sent.Opening, "opening"), sent.Accept,
            Reads.YesOrNo(sent.Carried, "carried"), Reads.YesOrNo(sent.DryRun, "dryRun"));
        Validation.Check(http.RequestServices, request);
        return request;
    }

    /// <summary>What is said of rows in which something does not agree.</summary>
    /// <exception cref="MalformedException">A word that is not known.</exception>
    internal Accepted Accepted()
    {
        var everywhere = ImmutableHashSet.CreateBuilder<Reading>();
        var byRow = ImmutableHashSet.CreateBuilder<(int, Reading)>();
        foreach (var said in (Accept ?? "")
            .Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            var parts = said.Split(':');
            var reading = parts.Length <= 2
                ? Enum.GetValues<Reading>().Where(r => Spelling.Of(r) == parts[^1]).Select(r => (Reading?)r)
                    .FirstOrDefault()
                : null;
            if (reading is not { } word)
            {
                throw Unknown(said);
            }

            if (parts.Length == 1)
            {
                everywhere.Add(word);
            }
            else
            {
                byRow.Add((int.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out var row)
                    ? row
                    : throw Unknown(said), word));
            }
        }

        return new Accepted(everywhere.ToImmutable(), byRow.ToImmutable());
    }

    private static MalformedException Unknown(string said) =>
        new("accept", $"`accept` can't be read at '{said}': write {string.Join(", ", Spelling.All(typeof(Reading)))}, "
            + $"for one row like 12:balance, with commas between.");
}

internal sealed class SheetImportRequestValidator : AbstractValidator<SheetImportRequest>
{
    public SheetImportRequestValidator()
    {
        RuleFor(r => r.Compartment).NotEmpty()
            .WithMessage("`compartment` names a compartment by its id, such as \"ferry-fares\".");
        RuleFor(r => r.Csv).NotNull()
            .WithMessage("`csv` is needed: the sheet, with a heading row of date, description, amount, balance.");
    }
}
