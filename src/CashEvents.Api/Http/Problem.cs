using System.Text.Json.Serialization;

namespace CashEvents.Api.Http;

/// <summary>Why a request was not carried out, by RFC 9457.</summary>
/// <param name="Status">The HTTP status.</param>
/// <param name="Code">What is the matter, for programs; stable.</param>
/// <param name="Detail">What is the matter and the mend, for people.</param>
public sealed record Problem(
    [property: JsonPropertyOrder(-3)] int Status,
    [property: JsonPropertyOrder(-1)] string Code,
    [property: JsonPropertyOrder(-2)] string Detail)
{
    /// <summary>Its kind: an address on this server that says what the code means and how to mend it.</summary>
    [JsonPropertyOrder(-5)]
    public string Type => ProblemKind.TypeOf(Code);

    /// <summary>Its kind in words; the same for each problem of the kind.</summary>
    [JsonPropertyOrder(-4)]
    public string Title => ProblemKind.TitleOf(Code);

    /// <summary>The fields at fault by their JSON path, each with the mend.</summary>
    public IReadOnlyDictionary<string, string[]>? Errors { get; init; }

    /// <summary>Names near the one sent, nearest first.</summary>
    public IReadOnlyList<string>? Suggestions { get; init; }

    /// <summary>When money is missing: what is there, and where the rest could come from.</summary>
    public ShortageAnswer? Shortage { get; init; }

    /// <summary>When a month should not be closed yet: what is to be done first.</summary>
    public IReadOnlyList<OpenItemAnswer>? Open { get; init; }

    /// <summary>For a sheet that was not imported: what does not agree, row by row.</summary>
    public IReadOnlyList<FindingAnswer>? Findings { get; init; }

    /// <summary>For a batch that was refused whole: what is the matter with each movement.</summary>
    public IReadOnlyList<BatchItemAnswer>? Answers { get; init; }
}

/// <summary>Too little money in a place.</summary>
/// <param name="Compartment">The compartment's id.</param>
/// <param name="Holding">Which of its holdings.</param>
/// <param name="Available">What can be taken there on that day without any later day going below zero.</param>
/// <param name="Missing">What is wanting.</param>
/// <param name="On">The day whose closing balance is the bound.</param>
/// <param name="CouldGive">Compartments from which the rest could come, fullest first.</param>
public sealed record ShortageAnswer(string Compartment, Holding Holding, decimal Available, decimal Missing,
    DateOnly On, IReadOnlyList<CouldGiveAnswer> CouldGive);

/// <summary>A compartment from which the rest could come.</summary>
/// <param name="Compartment">Its id.</param>
/// <param name="Available">What could be taken from it.</param>
public sealed record CouldGiveAnswer(string Compartment, decimal Available);
